// Has every test of a campaign errors and noise of its own, and another day what it should have?

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <set>

#include "analysis/compare_tests.h"
#include "fixtures/history/coverage.h"
#include "tests/history/loaded_scenario.h"

namespace endgate::history {
namespace {

// The barometer at rest: its offset tells benches apart, what is beside its mean the noise.
std::vector<std::int64_t> first_counts(const TestedUnit& unit, const std::string& channel) {
  const auto found =
      std::ranges::find(unit.test.trace.channels, channel, &analysis::RawChannel::id);
  return {found->raw.begin(), found->raw.begin() + 40};
}

CampaignOptions four_units() {
  CampaignOptions options;
  options.units = 4;  // one of each model
  options.seed = 99;
  options.threads = 1;
  return options;
}

TEST(CampaignDraws, EveryTestHasNoiseOfItsOwnOnOneBenchAndOnFreshOnes) {
  for (const bool fresh : {false, true}) {
    CampaignOptions options = four_units();
    options.fresh_bench = fresh;
    std::set<std::vector<std::int64_t>> seen;
    for (const TestedUnit& unit : run_campaign(scenario(), options))
      seen.insert(first_counts(unit, "barometric_pressure"));
    EXPECT_EQ(seen.size(), 4U) << fresh;
  }
}

double mean_of(const std::vector<std::int64_t>& counts) {
  double sum = 0;
  for (const std::int64_t count : counts) sum += static_cast<double>(count);
  return sum / static_cast<double>(counts.size());
}

// Counts are 10 Pa wide here and more than an offset of 30 Pa: four benches differ by several.
TEST(CampaignDraws, ABenchForAllHasOneErrorAndFreshOnesHaveTheirOwn) {
  CampaignOptions options = four_units();
  std::map<bool, double> spread;
  for (const bool fresh : {false, true}) {
    options.fresh_bench = fresh;
    std::vector<double> levels;
    for (const TestedUnit& unit : run_campaign(scenario(), options))
      levels.push_back(mean_of(first_counts(unit, "barometric_pressure")));
    spread[fresh] = *std::ranges::max_element(levels) - *std::ranges::min_element(levels);
  }
  EXPECT_GT(spread[true], 3 * spread[false]);
}

TEST(CampaignDraws, AnotherDayHasTheSameConstantsAndABenchCalibratedAnewByName) {
  for (const bool anew : {false, true}) {
    const auto cold = run_campaign(scenario(), on_day(four_units(), 0, anew));
    const auto hot = run_campaign(scenario(), on_day(four_units(), 1, anew));
    std::set<std::string> common, other;
    for (std::size_t m = 0; m < cold[0].evaluation.metrics.size(); ++m) {
      const auto& one = cold[0].evaluation.metrics[m];
      const auto& two = hot[0].evaluation.metrics[m];
      for (const auto& difference : analysis::differences({&one, 1}, {&two, 1}))
        common.insert(difference.common.begin(), difference.common.end());
    }
    EXPECT_TRUE(common.contains("correction thermal"));
    const bool meter = std::ranges::any_of(common, [](const std::string& cause) {
      return cause.starts_with("calibration ") && cause.ends_with("/flow");
    });
    EXPECT_EQ(meter, !anew);
  }
}

}  // namespace
}  // namespace endgate::history

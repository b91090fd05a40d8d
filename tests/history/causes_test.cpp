// Does the likely cause name what was planted, and can its probabilities be believed?
//
// Seeds here were used neither to learn the tables (4711) nor to tune.  The figures over 300 and
// more faults come from `endgate_campaign SCENARIO --causes` and stand in analysis/README.md.

#include <gtest/gtest.h>

#include <cmath>

#include "fixtures/history/cause_score.h"

namespace endgate::history {
namespace {

std::vector<TestedUnit> faulty_units() {
  CampaignOptions options;
  options.units = 80;
  options.seed = 90210;
  options.fault_rate = 1;
  options.severity_min = 0.5;
  options.fresh_bench = true;
  return run_campaign(load_scenario(std::string(ENDGATE_SOURCE_DIR) + "/fixtures/scenario"),
                      options);
}

void expect_right_group_first(const CauseScore& score) {
  ASSERT_GT(score.graded, 40);
  EXPECT_GE(score.first, 0.85 * score.graded);
  EXPECT_GE(score.first_two, 0.95 * score.graded);
  EXPECT_LE(score.unexplained, 0.05 * score.graded);
  EXPECT_LT(score.members, 2.0 * score.graded) << "large groups say nothing";
}

// Of groups stated with p, a share of p is right.  Bounds are three binomial standard deviations,
// and the allowance of a table learned from few units.
void expect_reliable(const CauseScore& score) {
  for (const ReliabilityBin& bin : score.reliability) {
    if (bin.groups < 8) continue;
    const double stated = bin.probability / bin.groups;
    const double right = static_cast<double>(bin.right) / bin.groups;
    const double chance = 3 * std::sqrt(stated * (1 - stated) / bin.groups);
    EXPECT_NEAR(right, stated, chance + 0.06) << bin.groups << " groups";
  }
}

void expect_stated_of_fails_only(const std::vector<TestedUnit>& units) {
  using analysis::Verdict;
  for (const TestedUnit& unit : units) {
    const Verdict verdict = unit.evaluation.grade.verdict;
    if (verdict != Verdict::fail && verdict != Verdict::pass) continue;
    EXPECT_EQ(unit.evaluation.causes.empty(), verdict == Verdict::pass)
        << unit.serial << " " << unit.fault;
  }
}

// One test, as the campaign is what takes the time.
TEST(Causes, NameThePlantedFaultWithProbabilitiesThatHold) {
  const std::vector<TestedUnit> units = faulty_units();
  const CauseScore score = score_causes(units, 0.5);
  expect_right_group_first(score);
  expect_reliable(score);
  expect_stated_of_fails_only(units);
}

}  // namespace
}  // namespace endgate::history

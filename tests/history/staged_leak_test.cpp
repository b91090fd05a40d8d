// Leaks are watched for a short time where they are plain, for a long one where they are doubtful.

#include <gtest/gtest.h>

#include <algorithm>

#include "analysis/advise_leak.h"
#include "fixtures/history/campaign.h"
#include "tests/history/loaded_scenario.h"

namespace endgate::history {
namespace {

constexpr const char* kModel = "P1-60-12";

const analysis::StepMark& step(const TestedUnit& unit, const std::string& id) {
  return *std::ranges::find(unit.test.trace.steps, id, &analysis::StepMark::id);
}

double watched_s(const TestedUnit& unit, const std::string& id) {
  const analysis::StepMark& mark = step(unit, id);
  return 1e-6 * static_cast<double>(mark.end_us - mark.ready_us.value_or(mark.end_us));
}

double longest_s(const std::string& id) {
  return std::ranges::find(scenario().models.at(kModel).sequence, id, &daemon::StepDefinition::id)
      ->duration_s;
}

const analysis::Metric& metric(const TestedUnit& unit, const std::string& id) {
  return *std::ranges::find(unit.evaluation.metrics, id, &analysis::Metric::id);
}

double upper_limit(const std::string& id) {
  const auto context = scenario().context("north", kModel);
  return std::ranges::find(context.limits.limits, id, &analysis::Limit::metric)->upper.value_or(0);
}

std::vector<TestedUnit> units(std::optional<simbench::Fault> fault, double severity) {
  CampaignOptions options;
  options.units = 6;
  options.seed = 90210;
  options.models = {kModel};
  options.forced_fault = fault;
  options.forced_severity = severity;
  return run_campaign(scenario(), options);
}

TEST(StagedLeak, OfAHealthyUnitIsDecidedEarlyAndStillWellKnown) {
  for (const TestedUnit& unit : units(std::nullopt, 0))
    for (const std::string id : {"back_leak", "seal_leak"}) {
      EXPECT_NE(step(unit, id).reason.find("decided"), std::string::npos) << unit.serial << id;
      EXPECT_LT(watched_s(unit, id), 0.75 * longest_s(id)) << unit.serial << " " << id;
      // The evaluation knows more causes than a look does.
      EXPECT_LT(*metric(unit, id).u, 2 * analysis::kLeakShare * upper_limit(id)) << unit.serial;
      EXPECT_EQ(metric(unit, id).missing_reason, "");
    }
}

// At a severity that brings the seal leak near its limit of 8 cm3/min.
TEST(StagedLeak, NearItsLimitIsWatchedLonger) {
  double plain_s = 0, doubtful_s = 0;
  for (const TestedUnit& unit : units(std::nullopt, 0)) plain_s += watched_s(unit, "seal_leak") / 6;
  for (const TestedUnit& unit : units(simbench::Fault::housing_seal_leak, 0.4))
    doubtful_s += watched_s(unit, "seal_leak") / 6;
  EXPECT_GT(doubtful_s, plain_s + 2);
}

}  // namespace
}  // namespace endgate::history

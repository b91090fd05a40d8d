// The whole job without sockets: does the pipeline find what is planted, and spare what is healthy?
//
// Truth comes from the simulated bench alone (simbench::truth_of), whose physics is not the model
// that analysis fits.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <regex>
#include <sstream>

#include "analysis/motor_constants.h"
#include "fixtures/history/campaign.h"
#include "tests/history/loaded_scenario.h"

namespace simbench {

// How a test of one fault is listed.
void PrintTo(const FaultName& fault, std::ostream* out) { *out << fault.name; }

}  // namespace simbench

namespace endgate::history {
namespace {

// Rows of the first table of faults.md: fault -> step column.
std::map<std::string, std::string> steps_of_faults() {
  std::ifstream in(std::string(ENDGATE_SOURCE_DIR) + "/fixtures/bench/faults.md");
  const std::regex row(R"(^\| (\w+) \|.*\| ([^|]+) \|$)");
  std::map<std::string, std::string> steps;
  std::smatch match;
  for (std::string line; std::getline(in, line);)
    if (std::regex_match(line, match, row) && simbench::fault_of(match[1].str()))
      steps.emplace(match[1], match[2]);
  return steps;
}

std::vector<TestedUnit> with_fault(simbench::Fault fault, const std::string& model, int units) {
  CampaignOptions options;
  options.units = units;
  options.models = {model};
  options.forced_fault = fault;
  return run_campaign(scenario(), options);
}

class FullSeverity : public ::testing::TestWithParam<simbench::FaultName> {};

TEST_P(FullSeverity, IsFailedWhereFaultsMdSaysItIsVisible) {
  const auto steps = steps_of_faults();
  const auto row = steps.find(std::string(GetParam().name));
  ASSERT_NE(row, steps.end()) << "no row in faults.md";
  const bool visible = row->second.find("not visible") == std::string::npos;
  const std::vector<std::string> models =
      GetParam().twin_only ? std::vector<std::string>{"P2-120-24"}
                           : std::vector<std::string>{"P1-20-12", "P1-60-12", "P2-120-24"};
  for (const std::string& model : models)
    for (const TestedUnit& unit : with_fault(GetParam().fault, model, 2)) {
      const analysis::Grade& grade = unit.evaluation.grade;
      if (visible)
        EXPECT_EQ(grade.verdict, analysis::Verdict::fail)
            << unit.serial << ": " << (grade.reasons.empty() ? "" : grade.reasons.front().sentence);
      else
        EXPECT_NE(grade.verdict, analysis::Verdict::void_) << unit.serial;
    }
}
INSTANTIATE_TEST_SUITE_P(Faults, FullSeverity, ::testing::ValuesIn(simbench::kFaults),
                         [](const auto& info) { return std::string(info.param.name); });

// With w = 1.645 u a unit exactly on a limit is failed in one test of twenty, a good one away from
// it never; the population's healthy units lie at least three u inside.
TEST(Campaign, FailsNoHealthyUnit) {
  CampaignOptions options;
  options.units = 40;
  options.fresh_bench = true;
  int good = 0;
  for (const TestedUnit& unit : run_campaign(scenario(), options)) {
    if (!unit.truly_good) continue;
    ++good;
    EXPECT_NE(unit.evaluation.grade.verdict, analysis::Verdict::fail)
        << unit.serial << ": " << unit.evaluation.grade.reasons.front().sentence;
    EXPECT_NE(unit.evaluation.grade.verdict, analysis::Verdict::void_) << unit.serial;
  }
  EXPECT_GT(good, 20) << "the limits must leave most healthy units good";
}

// Bias and scatter against truth; bounds are about twice what was measured over 120 units.
TEST(Campaign, MeasuresWhatIsTrue) {
  CampaignOptions options;
  options.units = 32;
  options.fresh_bench = true;
  const auto scores = score(run_campaign(scenario(), options));
  ASSERT_EQ(scores.size(), 4U);
  const std::map<std::string, double> bound_rel{{"fad_0", 0.012},
                                                {"fad_200", 0.008},
                                                {"fad_400", 0.008},
                                                {"fad_600", 0.010},
                                                {"fad_800", 0.014},
                                                {"current_600", 0.006},
                                                {"speed_600", 0.002},
                                                {"volumetric_efficiency_400", 0.008},
                                                {"specific_energy_400", 0.008}};
  // Of models that ask for them.
  const std::map<std::string, double> bound_of_motor_rel{{"machine_constant", 0.004},
                                                         {"winding_resistance", 0.010},
                                                         {"brush_drop", 0.08},
                                                         {"moment_of_inertia", 0.006},
                                                         {"torque_0", 0.012},
                                                         {"motor_efficiency_600", 0.004},
                                                         {"isothermal_efficiency_400", 0.010}};
  for (const auto& [id, bound] : bound_of_motor_rel)
    for (const std::string model : {"P1-20-12", "P1-60-24", "P2-120-24"}) {
      const MetricScore& metric = scores.at(model).at(id);
      EXPECT_EQ(metric.missing, 0) << model << " " << id;
      EXPECT_LT(std::abs(metric.bias), bound * std::abs(metric.mean_truth)) << model << " " << id;
      EXPECT_LT(metric.scatter, 1.5 * metric.mean_u) << model << " " << id;
    }
  for (const auto& [model, metrics] : scores)
    for (const auto& [id, bound] : bound_rel) {
      const MetricScore& metric = metrics.at(id);
      EXPECT_LT(std::abs(metric.bias), bound * std::abs(metric.mean_truth)) << model << " " << id;
      EXPECT_LT(metric.scatter, 1.5 * metric.mean_u) << model << " " << id;
    }
}

double part_rel(const TestedUnit& unit, const std::string& id, const std::string& cause) {
  const auto metric = std::ranges::find(unit.evaluation.metrics, id, &analysis::Metric::id);
  double u = 0;
  for (const analysis::UncertaintyPart& part : metric->parts)
    if (part.cause == cause) u = std::abs(part.u);
  return u / std::abs(metric->value.value());
}

// What no calibration and no correction covers: noise of the run-down, and what
// analysis/motor_constants.h allows.
TEST(Campaign, StatesByWhatElseTheMotorIsNotKnown) {
  CampaignOptions options;
  options.units = 2;
  options.models = {"P1-60-24", "P2-120-24"};
  for (const TestedUnit& unit : run_campaign(scenario(), options)) {
    for (const char* id : {"machine_constant", "moment_of_inertia"}) {
      EXPECT_GT(part_rel(unit, id, "random"), 2e-4) << unit.serial << " " << id;
      EXPECT_GT(part_rel(unit, id, "model"), 2e-4) << unit.serial << " " << id;
    }
    EXPECT_GT(part_rel(unit, "torque_0", "model"), 0.99 * analysis::kNoLoad_u_rel) << unit.serial;
    EXPECT_GT(part_rel(unit, "winding_resistance", "model"), 0.99 * analysis::kWinding_u_k * 0.0035)
        << unit.serial;
  }
}

TEST(Campaign, GivesTheSameBitsWhateverTheNumberOfThreads) {
  CampaignOptions options;
  options.units = 4;
  options.threads = 1;
  const auto one = run_campaign(scenario(), options);
  options.threads = 3;
  const auto three = run_campaign(scenario(), options);
  ASSERT_EQ(one.size(), three.size());
  for (std::size_t i = 0; i < one.size(); ++i)
    for (std::size_t m = 0; m < one[i].evaluation.metrics.size(); ++m)
      EXPECT_EQ(one[i].evaluation.metrics[m].value, three[i].evaluation.metrics[m].value)
          << one[i].serial << " " << one[i].evaluation.metrics[m].id;
}

TEST(Campaign, CorrectsAHotThinDayToReferenceConditions) {
  CampaignOptions options;
  options.units = 8;
  options.models = {"P1-60-12"};
  options.room = {.temperature_k = 303.15, .pressure_abs_pa = 96000, .relative_humidity = 0.5};
  const auto scores = score(run_campaign(scenario(), options));
  const MetricScore& flow = scores.at("P1-60-12").at("fad_400");
  EXPECT_EQ(flow.missing, 0);
  EXPECT_LT(std::abs(flow.bias), 0.02 * flow.mean_truth);
}

// What the bench's counter has seen is what the trace says: no sample twice, none out of order.
TEST(Lockstep, BringsEveryChannelInOrder) {
  CampaignOptions options;
  options.units = 1;
  options.models = {"P1-60-12"};
  const TestedUnit unit = run_campaign(scenario(), options).front();
  EXPECT_EQ(unit.test.trace.channels.size(), 11U);
  for (const analysis::RawChannel& channel : unit.test.trace.channels) {
    ASSERT_FALSE(channel.time_us.empty()) << channel.id;
    for (std::size_t i = 1; i < channel.time_us.size(); ++i)
      ASSERT_LT(channel.time_us[i - 1], channel.time_us[i]) << channel.id;
  }
  EXPECT_EQ(unit.test.trace.steps.size(), scenario().models.at("P1-60-12").sequence.size());
}

}  // namespace
}  // namespace endgate::history

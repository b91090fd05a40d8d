// A lab trial on the simulated plant, whose unit has a winding, a case, a head and a cut-out of its
// own: none of it is the one warm body that analysis/duty_run.h fits.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <iterator>

#include "analysis/calibration.h"
#include "analysis/evaluate.h"
#include "fixtures/history/lockstep_bench.h"
#include "tests/history/loaded_scenario.h"

namespace endgate::history {
namespace {

daemon::TrialDefinition half_hour_duty() {
  std::ifstream in(std::string(ENDGATE_SOURCE_DIR) +
                   "/fixtures/scenario/trials/half-hour-duty.toml");
  const std::string text{std::istreambuf_iterator<char>(in), {}};
  return std::get<daemon::TrialDefinition>(daemon::load_trial(text, "half-hour-duty.toml"));
}

struct TrialRun {
  daemon::FinishedTest test;
  analysis::Evaluation evaluation;
  analysis::Context context;
  std::size_t pieces = 0;
};

TrialRun run(const daemon::TrialDefinition& trial) {
  simbench::InstrumentsOptions options;
  options.seed = 7;
  LockstepBench bench(scenario().benches.at("north"), scenario().channel_calibrations("north"),
                      options);
  const auto model = daemon::run_in_trial(scenario().models.at(trial.model), trial);
  TrialRun result;
  result.context = daemon::context_in_trial(scenario().context("north", trial.model), trial, 1);
  result.test = bench.trial(simbench::nominal_design(simbench::Model::p1_20_12), model, trial.plan,
                            [&](const analysis::RawTrace&) { ++result.pieces; });
  result.evaluation = analysis::evaluate(result.test.trace, result.context);
  return result;
}

// Two hours of the trial as the scenario has it; its turns are alike after the first.
const TrialRun& two_turns() {
  static const TrialRun done = [] {
    daemon::TrialDefinition trial = half_hour_duty();
    trial.plan.loops[0].times = 2;
    return run(trial);
  }();
  return done;
}

const analysis::Metric& metric(const analysis::Evaluation& evaluation, std::string_view id) {
  for (const analysis::Metric& each : evaluation.metrics)
    if (each.id == id) return each;
  throw std::runtime_error("no such metric");
}

analysis::Column case_temperature(const TrialRun& done) {
  return analysis::calibrate(
             done.test.trace,
             done.context.bench)[analysis::index_of(analysis::Role::case_temperature)]
      .column;
}

// The same run, had the cut-out opened at this temperature, in the room as it was.
analysis::Evaluation had_it_opened_at(double opens_at_k) {
  analysis::Context context = two_turns().context;
  context.limits.limits.at(0).upper = opens_at_k;
  context.model.reference.inlet_temperature_k = simbench::Room{}.temperature_k;
  return analysis::evaluate(two_turns().test.trace, context);
}

// Common practice, no source: a one-cylinder unit stands half an hour on and half an hour off
// without its cut-out.
TEST(DutyOnPlant, HalfHoursAreRunWithoutTheCutOutAndPass) {
  const TrialRun& done = two_turns();
  EXPECT_EQ(done.test.trace.break_off, analysis::BreakOff::none)
      << done.test.trace.break_off_detail;
  EXPECT_FALSE(done.test.trace.trip);
  ASSERT_EQ(done.test.trace.steps.size(), 8U);
  for (const analysis::StepMark& step : done.test.trace.steps)
    EXPECT_EQ(step.reason, "") << step.id;
  EXPECT_EQ(done.evaluation.grade.verdict, analysis::Verdict::pass);
  EXPECT_GE(done.pieces, 24U);
  EXPECT_FALSE(metric(done.evaluation, "longest_on").value) << "it may run on and on";
}

TEST(DutyOnPlant, TheLongestTimeOnIsWhenTheCaseReachesTheCutOut) {
  constexpr double kOpensAt_k = 343.15;
  const analysis::Column read = case_temperature(two_turns());
  const auto hot = std::ranges::find_if(read.value, [](double k) { return k > kOpensAt_k; });
  ASSERT_NE(hot, read.value.end());
  const double reached_s = read.time_s[static_cast<std::size_t>(hot - read.value.begin())];
  const analysis::StepMark& start = two_turns().test.trace.steps.at(1);
  const double began_s =
      analysis::seconds_from(analysis::origin_us(two_turns().test.trace), start.start_us);
  const analysis::Evaluation told = had_it_opened_at(kOpensAt_k);
  const analysis::Metric& longest = metric(told, "longest_on");
  ASSERT_TRUE(longest.value && longest.u);
  EXPECT_NEAR(*longest.value, reached_s - began_s, 2 * *longest.u);
  EXPECT_LT(*longest.u, 0.25 * *longest.value);
}

TEST(DutyOnPlant, ALongRunAtTheLargestShareTouchesTheCutOut) {
  constexpr double kOpensAt_k = 343.15;
  const analysis::Evaluation told = had_it_opened_at(kOpensAt_k);
  const analysis::Metric& share = metric(told, "duty_factor");
  ASSERT_TRUE(share.value);
  EXPECT_GT(*share.value, 0.05);
  EXPECT_LT(*share.value, 0.95);
  daemon::TrialDefinition trial = half_hour_duty();
  trial.plan.loops[0].times = 2;
  trial.plan.ends.clear();
  trial.sequence[2].duration_s = *share.value * 3600;
  trial.sequence[3].duration_s = (1 - *share.value) * 3600;
  for (const std::size_t step : {2U, 3U}) {
    trial.sequence[step].limit_s = trial.sequence[step].duration_s + 30;
    trial.sequence[step].steady_limit_s = trial.sequence[step].duration_s + 60;
  }
  const TrialRun at_it = run(trial);
  const double u_k = *metric(told, "duty_peak_case").u;
  EXPECT_NEAR(std::ranges::max(case_temperature(at_it).value), kOpensAt_k, 2 * u_k);
}

}  // namespace
}  // namespace endgate::history

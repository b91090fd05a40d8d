// Duty from a run of hours, against bodies whose truth is known.

#include "analysis/duty_run.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "analysis/duty.h"
#include "analysis/evaluate.h"
#include "tests/analysis/found_metric.h"

namespace endgate::analysis {
namespace {

using ::testing::HasSubstr;

constexpr double kRoom_k = 296;
constexpr double kScale_k = 0.01;
constexpr HeatingCurve kUnit{.final_rise_k = 90, .tau_heating_s = 1500, .tau_cooling_s = 2400};

ChannelFacts channel(Role role) {
  ChannelFacts facts;
  facts.id = std::string(name_of(role));
  facts.role = role;
  facts.scale = kScale_k;
  facts.range_min_si = 230;
  facts.range_max_si = 500;
  facts.period_s = 1;
  facts.noise_sigma_si = 0.1;
  facts.calibration.id = "calibration north@1";
  facts.calibration.u_offset_si = 0.3;
  return facts;
}

Context context_with(double opens_at_k) {
  Context context;
  for (const Role role :
       {Role::head_temperature, Role::case_temperature, Role::ambient_temperature})
    context.bench.channels.push_back(channel(role));
  context.model.metrics = {"duty_peak_case", "longest_on", "duty_factor", "duty_cycle"};
  context.model.reference.inlet_temperature_k = 293.15;
  Limit limit;
  limit.metric = "duty_peak_case";
  limit.upper = opens_at_k;
  context.limits = {"trial half-hour-duty@1", 1, {limit}};
  return context;
}

// A body that heats and cools as `curve` says, read every 4 s with noise; turns of on and off.
class Trial {
 public:
  explicit Trial(const HeatingCurve& curve) : curve_(curve) {
    for (const Role role :
         {Role::head_temperature, Role::case_temperature, Role::ambient_temperature})
      trace_.channels.push_back({std::string(name_of(role)), RawKind::count, {}, {}, {}});
    step("zero", StepKind::zero, 4, false);
  }

  Trial& turns(int count, double on_s, double off_s) {
    for (int i = 0; i < count; ++i) {
      step("on", StepKind::warm_up, on_s, true);
      step("off", StepKind::vent, off_s, false);
    }
    return *this;
  }
  Trial& step(const char* id, StepKind kind, double seconds, bool on) {
    StepMark mark;
    mark.id = id;
    mark.kind = kind;
    mark.start_us = time_us_;
    for (double t = 0; t < seconds; t += 4) {
      time_us_ += 4'000'000;
      rise_k_ += on ? (curve_.final_rise_k - rise_k_) * (1 - std::exp(-4 / curve_.tau_heating_s))
                    : -rise_k_ * (1 - std::exp(-4 / curve_.tau_cooling_s));
      highest_k = std::max(highest_k, rise_k_);
      read(0, kRoom_k + 1.2 * rise_k_);
      read(1, kRoom_k + rise_k_);
      read(2, kRoom_k);
    }
    mark.end_us = time_us_;
    mark.ready_us = mark.start_us;
    trace_.steps.push_back(mark);
    return *this;
  }
  [[nodiscard]] const RawTrace& trace() const { return trace_; }
  double highest_k = 0;

 private:
  void read(std::size_t index, double value_k) {
    RawChannel& column = trace_.channels[index];
    column.time_us.push_back(time_us_);
    column.raw.push_back(std::llround((value_k + noise_(random_)) / kScale_k));
    column.quality.push_back(Quality::good);
  }

  HeatingCurve curve_;
  RawTrace trace_;
  std::int64_t time_us_ = 0;
  double rise_k_ = 0;
  std::mt19937_64 random_{4};
  std::normal_distribution<double> noise_{0, 0.1};
};

TEST(DutyRun, FindsTheTruthOfABodyBehindTheNoise) {
  const Trial run = Trial(kUnit).turns(5, 1800, 1800);
  const Evaluation evaluation = evaluate(run.trace(), context_with(293.15 + 80));
  const Metric& peak = metric(evaluation, "duty_peak_case");
  ASSERT_TRUE(peak.value && peak.u);
  EXPECT_NEAR(*peak.value, 293.15 + peak_rise_k(kUnit, {1800, 1800}), 2 * *peak.u);
  EXPECT_LT(*peak.u, 0.6);
  EXPECT_NEAR(*metric(evaluation, "longest_on").value, *longest_on_s(kUnit, 80), 60);
  EXPECT_NEAR(*metric(evaluation, "duty_factor").value, largest_duty_factor(kUnit, 80, 3600), 0.01);
  EXPECT_NEAR(*metric(evaluation, "duty_cycle").value, 3600, 8);
}

TEST(DutyRun, NamesTheCausesOfItsUAsEveryOtherTestDoes) {
  const Trial run = Trial(kUnit).turns(5, 1800, 1800);
  const Evaluation evaluation = evaluate(run.trace(), context_with(293.15 + 80));
  bool named = false;
  for (const UncertaintyPart& part : metric(evaluation, "duty_peak_case").parts)
    named = named || part.cause.starts_with("calibration north@1/case");
  EXPECT_TRUE(named);
}

TEST(DutyRun, TellsTheSteadyPeakBeforeItIsReached) {
  const Trial two = Trial(kUnit).turns(2, 1800, 1800);
  const Trial many = Trial(kUnit).turns(12, 1800, 1800);
  const Metric peak = metric(evaluate(two.trace(), context_with(400)), "duty_peak_case");
  EXPECT_LT(two.highest_k, many.highest_k - 0.5);
  EXPECT_NEAR(*peak.value - 293.15, many.highest_k, 2 * *peak.u);
}

// The largest share it states, run for long, touches the cut-out; a little more crosses it.
TEST(DutyRun, ALongRunAtTheLargestShareTouchesTheCutOut) {
  const Trial tried = Trial(kUnit).turns(4, 1200, 2400);
  const Evaluation evaluation = evaluate(tried.trace(), context_with(293.15 + 65));
  const double share = *metric(evaluation, "duty_factor").value;
  const Trial at = Trial(kUnit).turns(12, share * 3600, (1 - share) * 3600);
  const Trial above = Trial(kUnit).turns(12, (share + 0.03) * 3600, (0.97 - share) * 3600);
  EXPECT_NEAR(at.highest_k, 65, 0.5);
  EXPECT_GT(above.highest_k, 65.5);
}

TEST(DutyRun, PassesBelowTheCutOutAndFailsAboveIt) {
  const Trial run = Trial(kUnit).turns(5, 1800, 1800);
  const double peak_k = 293.15 + peak_rise_k(kUnit, {1800, 1800});
  EXPECT_EQ(evaluate(run.trace(), context_with(peak_k + 3)).grade.verdict, Verdict::pass);
  EXPECT_EQ(evaluate(run.trace(), context_with(peak_k - 3)).grade.verdict, Verdict::fail);
  EXPECT_EQ(evaluate(run.trace(), context_with(peak_k)).grade.verdict, Verdict::undecided);
}

TEST(DutyRun, AUnitThatNeverGetsSoWarmMayRunOnAndOn) {
  const Trial run = Trial(kUnit).turns(3, 1800, 1800);
  const Evaluation evaluation = evaluate(run.trace(), context_with(293.15 + 120));
  EXPECT_FALSE(metric(evaluation, "longest_on").value);
  EXPECT_THAT(metric(evaluation, "longest_on").missing_reason, HasSubstr("it may run on and on"));
  EXPECT_EQ(*metric(evaluation, "duty_factor").value, 1);
  EXPECT_EQ(evaluation.grade.verdict, Verdict::pass);
}

TEST(DutyRun, SaysWhatARunCannotTell) {
  const Trial no_rest = Trial(kUnit).step("on", StepKind::warm_up, 1800, true);
  const Evaluation without = evaluate(no_rest.trace(), context_with(373.15));
  EXPECT_THAT(metric(without, "duty_factor").missing_reason, HasSubstr("no rest"));
  EXPECT_EQ(without.grade.verdict, Verdict::undecided);
  const Trial never = Trial(kUnit).step("off", StepKind::vent, 600, false);
  EXPECT_THAT(metric(evaluate(never.trace(), context_with(373.15)), "longest_on").missing_reason,
              HasSubstr("the motor never ran"));
}

// A trial that ends by a value while the motor runs is vented at once: that is no rest of a turn.
TEST(DutyRun, TheVentAtTheEndIsNoRest) {
  const Trial whole = Trial(kUnit).turns(4, 1800, 1800);
  const Trial ended = Trial(kUnit)
                          .turns(4, 1800, 1800)
                          .step("on", StepKind::warm_up, 1750, true)
                          .step("vent", StepKind::vent, 12, false);
  const auto factor_of = [](const Trial& run) {
    return metric(evaluate(run.trace(), context_with(373.15)), "duty_cycle").value.value();
  };
  EXPECT_NEAR(factor_of(ended), factor_of(whole), 0.02 * factor_of(whole));
}

TEST(DutyRun, ASickSensorOfTheCutOutVoidsTheTrial) {
  const Trial run = Trial(kUnit).turns(3, 1800, 1800);
  RawTrace stuck = run.trace();
  for (std::int64_t& raw : stuck.channels[1].raw) raw = 30000;
  EXPECT_EQ(evaluate(stuck, context_with(373.15)).grade.verdict, Verdict::void_);
  RawTrace dead = run.trace();
  for (Quality& quality : dead.channels[1].quality) quality = Quality::no_value;
  EXPECT_EQ(evaluate(dead, context_with(373.15)).grade.verdict, Verdict::void_);
}

// An odd sample is no sick sensor: a run of hours is not void for one of them.
TEST(DutyRun, OneOddSampleBeyondTheRangeVoidsNothingThreeInARowDo) {
  const Trial run = Trial(kUnit).turns(3, 1800, 1800);
  RawTrace odd = run.trace();
  constexpr std::size_t kAt = 500;
  constexpr std::int64_t kBeyond = 60000;
  odd.channels[1].raw[kAt] = kBeyond;
  const Evaluation one = evaluate(odd, context_with(393.15));
  EXPECT_EQ(one.grade.verdict, Verdict::pass);
  EXPECT_NEAR(*metric(one, "duty_peak_case").value,
              *metric(evaluate(run.trace(), context_with(393.15)), "duty_peak_case").value, 0.05);
  odd.channels[1].raw[kAt + 1] = odd.channels[1].raw[kAt + 2] = kBeyond;
  const Evaluation three = evaluate(odd, context_with(393.15));
  EXPECT_EQ(three.grade.verdict, Verdict::void_);
  const ChannelHealth& health = three.health.at(1);
  EXPECT_EQ(health.state, HealthState::out_of_range);
  EXPECT_THAT(health.detail, HasSubstr("out of range (600)"));
  EXPECT_EQ(health.time_us, odd.channels[1].time_us[kAt + 2]);
}

TEST(DutyRun, AProductionContextIsNotAskedForDuty) {
  Context context = context_with(373.15);
  EXPECT_TRUE(asks_for_duty(context));
  context.model.metrics.push_back("fad_400");
  EXPECT_FALSE(asks_for_duty(context));
  context.model.metrics.clear();
  EXPECT_FALSE(asks_for_duty(context));
}

// Common practice, no source: half an hour on and half an hour off, repeated, does not open the
// cut-out of a one-cylinder unit.
TEST(DutyRun, HalfHoursKeepAOneCylinderUnitBelowItsCutOut) {
  const Trial run = Trial(kUnit).turns(6, 1800, 1800);
  EXPECT_EQ(evaluate(run.trace(), context_with(293.15 + 80)).grade.verdict, Verdict::pass);
}

}  // namespace
}  // namespace endgate::analysis

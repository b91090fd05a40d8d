// A waveform of the motor's current inside a test: what it adds, what it replaces, what it accuses.

#include "analysis/hold_ripple.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "analysis/evaluate.h"
#include "tests/analysis/ripple_trace.h"

namespace endgate::analysis {
namespace {

using ripple_made::Motor;
using testing::HasSubstr;

struct Heard {
  Context context = made::listening(made::context());
  RawTrace trace = made::trace({}, {}, context);

  explicit Heard(const Motor& motor = {}) { made::add_waveform(trace, motor, 1); }
  [[nodiscard]] Evaluation evaluation() const { return evaluate(trace, context); }
  [[nodiscard]] RawChannel& waveform() { return made::channel(trace, "motor_current"); }
};

Metric metric_or_none(const Evaluation& evaluation, const std::string& id) {
  const auto found = std::ranges::find(evaluation.metrics, id, &Metric::id);
  return found == evaluation.metrics.end() ? Metric{} : *found;
}

std::string reason(const Evaluation& evaluation, const std::string& id) {
  const Metric found = metric_or_none(evaluation, id);
  return found.value ? "it has a value" : found.missing_reason;
}

const ChannelHealth* health(const Evaluation& evaluation, const std::string& id) {
  const auto found = std::ranges::find(evaluation.health, id, &ChannelHealth::channel_id);
  return found == evaluation.health.end() ? nullptr : &*found;
}

// Drowned in noise: nothing to lock on.
Motor silent() {
  Motor motor;
  motor.once_a = motor.twice_a = motor.commutation_a = 0.001;
  motor.noise_a = 2;
  return motor;
}

TEST(HoldRipple, GivesSpeedCertaintyBalanceAndCommutatorOfATest) {
  Motor motor;
  motor.once_a = 0.4;
  motor.twice_a = 1;
  motor.uneven_a = 0.05;
  const Heard heard(motor);
  const Evaluation got = heard.evaluation();
  const Metric speed = metric_or_none(got, "ripple_speed_400");
  ASSERT_TRUE(speed.value.has_value()) << speed.missing_reason;
  const double truth = made::speed_rev_s({}, heard.context, 400e3);
  EXPECT_NEAR(*speed.value, truth, 5e-4 * truth);
  EXPECT_GT(*metric_or_none(got, "ripple_lock_400").value, 0.99);
  const Metric balance = metric_or_none(got, "cylinder_imbalance_400");
  EXPECT_NEAR(balance.value.value(), 0.4, 4 * balance.u.value());
  const Metric commutator = metric_or_none(got, "commutator_irregularity_400");
  EXPECT_NEAR(commutator.value.value(), 0.05 * std::sqrt(5) / 0.3, 5 * commutator.u.value());
  EXPECT_THAT(speed.parts,
              testing::Contains(testing::Field(&UncertaintyPart::cause, "clock of motor_current")));
}

TEST(HoldRipple, LeavesEveryOtherMetricAsItIs) {
  const Heard heard;
  Context deaf = heard.context;
  deaf.bench.current_waveform.reset();
  const Evaluation with = heard.evaluation(), without = evaluate(heard.trace, deaf);
  for (const char* id : {"fad_400", "speed_600", "dead_head", "back_leak"})
    EXPECT_EQ(metric_or_none(with, id).value, metric_or_none(without, id).value) << id;
  EXPECT_EQ(health(with, "speed")->state, HealthState::good) << health(with, "speed")->detail;
}

TEST(HoldRipple, TakesThePlaceOfATachoThatTheBenchDoesNotHave) {
  Heard heard;
  const Evaluation beside = heard.evaluation();
  made::remove_tacho(heard.trace, heard.context);
  const Evaluation alone = heard.evaluation();
  for (const char* id : {"speed_600", "fad_0", "fad_400", "volumetric_efficiency_400"}) {
    ASSERT_TRUE(metric_or_none(alone, id).value)
        << id << ": " << metric_or_none(alone, id).missing_reason;
    EXPECT_NEAR(*metric_or_none(alone, id).value / *metric_or_none(beside, id).value, 1, 5e-4)
        << id;
  }
  EXPECT_THAT(metric_or_none(alone, "speed_600").parts,
              testing::Contains(testing::Field(&UncertaintyPart::cause, "clock of motor_current")));
  for (const OperatingPoint& point : alone.points) {
    EXPECT_EQ(point.note, "speed from the current");
    EXPECT_GT(point.speed_u_random_rev_s, 0);
  }
}

TEST(HoldRipple, WithoutATachoALockThatIsNotSureGivesNoSpeed) {
  Heard heard(silent());
  made::remove_tacho(heard.trace, heard.context);
  const Evaluation got = heard.evaluation();
  EXPECT_THAT(reason(got, "speed_600"), HasSubstr("no tacho"));
  EXPECT_THAT(reason(got, "speed_600"), HasSubstr("% sure"));
  EXPECT_FALSE(metric_or_none(got, "fad_400").value);
  EXPECT_TRUE(metric_or_none(got, "current_600").value);
  EXPECT_NE(got.grade.verdict, Verdict::pass);
}

TEST(HoldRipple, WithoutATachoAHoldThatIsNotSureIsNoPoint) {
  Heard heard;
  made::remove_tacho(heard.trace, heard.context);
  RawChannel& waveform = heard.waveform();
  std::mt19937_64 random(3);
  std::normal_distribution<double> noise(0, 3000);
  for (std::size_t i = 0; i < 2 * made::kBurst; ++i) waveform.raw[i] = std::lround(noise(random));
  const Evaluation got = heard.evaluation();
  EXPECT_THAT(got.points.front().note, HasSubstr("% sure"));
  EXPECT_FALSE(got.points.front().steady);
  EXPECT_THAT(reason(got, "fad_0"), HasSubstr("no usable hold reached 0 kPa"));
  EXPECT_TRUE(metric_or_none(got, "speed_600").value);
}

TEST(HoldRipple, ALockThatIsNotSureIsToldButGivesNothingElse) {
  const Evaluation got = Heard(silent()).evaluation();
  EXPECT_LT(metric_or_none(got, "ripple_lock_400").value.value(), 0.99);
  for (const char* id :
       {"ripple_speed_400", "cylinder_imbalance_400", "commutator_irregularity_400"})
    EXPECT_THAT(reason(got, id), HasSubstr("% sure")) << id;
}

TEST(HoldRipple, SaysWhyThereIsNone) {
  Heard no_bench, no_model, no_burst, clipped, holes;
  no_bench.context.bench.current_waveform.reset();
  EXPECT_THAT(reason(no_bench.evaluation(), "ripple_speed_400"),
              HasSubstr("the bench has no waveform"));
  no_model.context.model.ripple = {};
  EXPECT_THAT(reason(no_model.evaluation(), "ripple_speed_400"), HasSubstr("commutates"));
  std::erase_if(no_burst.trace.channels,
                [](const RawChannel& one) { return one.id == "motor_current"; });
  EXPECT_THAT(reason(no_burst.evaluation(), "ripple_speed_400"), HasSubstr("was recorded"));
  for (std::int64_t& raw : clipped.waveform().raw) raw = std::max<std::int64_t>(raw, 30000);
  clipped.context.bench.current_waveform->range_max_si = 60;
  EXPECT_THAT(reason(clipped.evaluation(), "ripple_speed_400"), HasSubstr("end of its range"));
  for (std::size_t i = 0; i < holes.waveform().quality.size(); i += 1000)
    holes.waveform().quality[i] = Quality::no_value;
  EXPECT_THAT(reason(holes.evaluation(), "ripple_speed_400"), HasSubstr("no value"));
}

TEST(HoldRipple, AUnitOfOneCylinderHasNoBalance) {
  Heard heard;
  heard.context.model.nominal.cylinders = 1;
  EXPECT_THAT(reason(heard.evaluation(), "cylinder_imbalance_400"), HasSubstr("two cylinders"));
  EXPECT_TRUE(metric_or_none(heard.evaluation(), "ripple_speed_400").value);
}

TEST(HoldRipple, BurstsOfOneHoldThatDifferAreNoLock) {
  Heard heard;
  RawChannel& waveform = heard.waveform();
  waveform.time_us.clear();
  waveform.raw.clear();
  waveform.quality.clear();
  std::mt19937_64 random(5);
  Motor motor;
  for (const StepMark& step : heard.trace.steps) {
    if (step.kind != StepKind::hold) continue;
    motor.speed_rev_s = 45;
    made::add_burst(waveform, step.end_us - 1'000'000, motor, random);
    motor.speed_rev_s = 47;
    made::add_burst(waveform, step.end_us - 100'000, motor, random);
  }
  EXPECT_EQ(metric_or_none(heard.evaluation(), "ripple_lock_400").value, 0);
}

TEST(HoldRipple, AccusesATachoThatReadsAnotherSpeed) {
  Heard heard;
  for (std::int64_t& raw : made::channel(heard.trace, "speed").raw)
    raw = std::bit_cast<std::int64_t>(1.02 * std::bit_cast<double>(raw));
  const Evaluation got = heard.evaluation();
  ASSERT_NE(health(got, "speed"), nullptr);
  EXPECT_EQ(health(got, "speed")->state, HealthState::implausible);
  EXPECT_THAT(health(got, "speed")->detail, HasSubstr("1.0200 times the speed"));
  EXPECT_FALSE(metric_or_none(got, "speed_600").value);
}

TEST(HoldRipple, OneFalseLockAccusesNobody) {
  Heard heard;
  RawChannel& waveform = heard.waveform();
  std::mt19937_64 random(7);
  Motor motor;
  motor.speed_rev_s = 40;
  RawChannel false_bursts;
  made::add_burst(false_bursts, 0, motor, random);
  std::ranges::copy(false_bursts.raw, waveform.raw.begin());
  std::ranges::copy(false_bursts.raw, waveform.raw.begin() + made::kBurst);
  EXPECT_EQ(health(heard.evaluation(), "speed")->state, HealthState::good);
}

}  // namespace
}  // namespace endgate::analysis

// Whatever arrives, evaluate answers: finite numbers or reasons, never an exception.

#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <random>

#include "analysis/evaluate.h"
#include "tests/analysis/measure_trace.h"

namespace endgate::analysis {
namespace {

void expect_finite(const Evaluation& e) {
  for (const Metric& one : e.metrics) {
    EXPECT_TRUE(std::isfinite(one.value.value_or(0)) && std::isfinite(one.u.value_or(0)));
    EXPECT_EQ(one.value.has_value(), one.missing_reason.empty());
    for (const UncertaintyPart& p : one.parts) EXPECT_TRUE(std::isfinite(p.u));
  }
  for (const DrawnPoint& p : e.drawn) EXPECT_TRUE(std::isfinite(p.flow_m3_s + p.u_m3_s));
  for (const OperatingPoint& p : e.points)
    EXPECT_TRUE(std::isfinite(p.flow_inlet_m3_s + p.speed_rev_s + p.drift_rel +
                              p.flow_u_random_m3_s + p.storage_m3_s + p.head_temperature_k));
}

class Spoiler {
 public:
  explicit Spoiler(std::uint64_t seed) : random_(seed) {}

  void spoil(RawTrace& trace) {
    for (int i = 0; i < 6; ++i) spoil_channel(trace.channels[pick(trace.channels.size())]);
    for (int i = 0; i < 3; ++i) spoil_step(trace.steps[pick(trace.steps.size())]);
    if (pick(4) == 0) trace.steps.resize(pick(trace.steps.size() + 1));
    if (pick(6) == 0) trace.channels.resize(pick(trace.channels.size() + 1));
  }

 private:
  std::size_t pick(std::size_t count) {
    return std::uniform_int_distribution<std::size_t>(0, count - 1)(random_);
  }
  std::int64_t anything() {
    switch (pick(4)) {
      case 0:
        return std::bit_cast<std::int64_t>(random_());
      case 1:
        return std::bit_cast<std::int64_t>(std::nan(""));
      case 2:
        return std::bit_cast<std::int64_t>(std::ldexp(1.0, static_cast<int>(pick(600)) - 300));
      default:
        return static_cast<std::int64_t>(pick(100));
    }
  }

  void spoil_channel(RawChannel& channel) {
    const std::size_t count =
        std::min({channel.raw.size(), channel.time_us.size(), channel.quality.size()});
    if (count == 0) return;
    const std::size_t from = pick(count);
    const std::size_t to = std::min(count, from + 1 + pick(2000));
    switch (pick(6)) {
      case 0:
        for (std::size_t i = from; i < to; ++i) channel.raw[i] = anything();
        break;
      case 1:
        channel.time_us[from] = anything();
        break;
      case 2:
        for (std::size_t i = from; i < to; ++i)
          channel.quality[i] = pick(2) == 0 ? Quality::no_value : Quality::not_arrived;
        break;
      case 3:
        channel.raw.resize(from);
        break;
      case 4:
        channel.kind = static_cast<RawKind>(pick(3));
        break;
      default:
        for (std::size_t i = from; i < to; ++i) channel.raw[i] = channel.raw[from];
    }
  }

  void spoil_step(StepMark& step) {
    switch (pick(7)) {
      case 0:
        step.start_us = anything();
        break;
      case 1:
        step.end_us = anything();
        break;
      case 2:
        step.ready_us = anything();
        break;
      case 3:
        step.ready_us.reset();
        break;
      case 4:
        step.receiver = "nowhere";
        break;
      case 5:
        step.kind = static_cast<StepKind>(pick(11));
        break;
      default:
        step.target_gauge_pa = -1e300;
    }
  }

  std::mt19937_64 random_;
};

TEST(EvaluateGarbage, AnswersGarbageWithFiniteNumbersAndReasons) {
  const Context context = made::context();
  const RawTrace good = made::trace({}, {}, context);
  for (std::uint64_t seed = 0; seed < 200; ++seed) {
    RawTrace trace = good;
    Spoiler(seed).spoil(trace);
    EXPECT_NO_THROW(expect_finite(evaluate(trace, context))) << seed;
    if (testing::Test::HasFailure()) break;
  }
}

TEST(EvaluateGarbage, AnswersAContextWithoutSenseWithReasons) {
  const RawTrace trace = made::trace({}, {}, made::context());
  Context context = made::context();
  context.model.nominal = {};
  expect_finite(evaluate(trace, context));
  context = made::context();
  context.bench.receivers.front().volume_m3 = 0;
  expect_finite(evaluate(trace, context));
  context = made::context();
  context.bench.receivers.clear();
  expect_finite(evaluate(trace, context));
  context = made::context();
  context.model.reference = {};
  context.model.reference.inlet_pressure_abs_pa = 0;
  expect_finite(evaluate(trace, context));
  context = made::context();
  for (ChannelFacts& facts : context.bench.channels) facts.noise_sigma_si = 0;
  expect_finite(evaluate(trace, context));
}

}  // namespace
}  // namespace endgate::analysis

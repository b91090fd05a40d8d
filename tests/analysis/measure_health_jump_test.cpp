// analysis/health_jump.h: what a slow channel may do and what no metal can.

#include <gtest/gtest.h>

#include <cmath>

#include "analysis/health_jump.h"

namespace endgate::analysis {
namespace {

// A sensor of 1 s lag on the head, 5 samples a second for 30 s, value by time.
template <class Value>
Samples head_that_shows(const ChannelFacts& facts, Value value) {
  Samples samples{.facts = &facts, .column = {}, .resolution_si = 0.05, .odd_time_s = {}};
  for (int i = 0; i < 150; ++i) {
    const double time_s = 0.2 * i;
    samples.column.time_s.push_back(time_s);
    samples.column.value.push_back(value(time_s));
  }
  return samples;
}

ChannelFacts head() {
  ChannelFacts facts;
  facts.role = Role::head_temperature;
  facts.period_s = 0.2;
  facts.lag_s = 1;
  facts.noise_sigma_si = 0.05;
  facts.calibration.u_offset_si = 0.3;
  return facts;
}

TEST(HealthJump, ASensorThatComesFromAHotUnitSettlesAndIsNotAccused) {
  const ChannelFacts facts = head();
  const Samples settling =
      head_that_shows(facts, [](double t) { return 295 + 0.3 * t + 60 * std::exp(-t / 1.0); });
  EXPECT_FALSE(jumped(Role::head_temperature, settling));
  // The same bend of a barometer is none that a new unit explains.
  EXPECT_TRUE(jumped(Role::barometric_pressure, settling));
}

TEST(HealthJump, AJumpOnceTheSensorHasSettledIsNamedWithItsTime) {
  const ChannelFacts facts = head();
  const Samples jumping =
      head_that_shows(facts, [](double t) { return 295 + 0.3 * t + (t < 15 ? 0 : 5); });
  const MaybeAccusation found = jumped(Role::head_temperature, jumping);
  ASSERT_TRUE(found);
  EXPECT_EQ(found->state, HealthState::jumped);
  EXPECT_NEAR(found->time_s, 15, 2);
}

}  // namespace
}  // namespace endgate::analysis

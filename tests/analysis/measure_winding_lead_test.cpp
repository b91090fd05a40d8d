// How far does a winding run ahead of its case, and what does that do to speed and flow?

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "analysis/reference_conditions.h"
#include "analysis/winding_lead.h"
#include "tests/analysis/measure_trace.h"

namespace endgate::analysis {
namespace {

Column current(double amperes, double seconds) {
  Column column;
  for (int i = 0; i <= 100; ++i) {
    column.time_s.push_back(0.01 * i * seconds);
    column.value.push_back(amperes);
  }
  return column;
}

TEST(WindingLead, FollowsTheClosedFormOfAConstantCurrent) {
  // k R I^2 (1 - exp(-t/tau)), the solution of tau dL/dt = k R I^2 - L.
  const double lead = winding_lead_k({current(20, 30), {}}, {0.06, 0.4, 40}, 24.1);
  EXPECT_NEAR(lead, 0.4 * 0.06 * 400 * (1 - std::exp(-24.1 / 40)), 1e-12);
  EXPECT_EQ(winding_lead_k({current(20, 30), {}}, {0.06, 0, 40}, 24), 0);
}

Column body(double rise_k_s, double seconds, double late_s) {
  Column column;
  for (int i = 0; i <= 100; ++i) {
    column.time_s.push_back(0.01 * i * seconds);
    column.value.push_back(293.15 + rise_k_s * std::max(0.0, 0.01 * i * seconds - late_s));
  }
  return column;
}

TEST(WindingLead, FallsBehindACaseThatFrictionWarms) {
  // -tau s (1 - exp(-t/tau)), the solution of tau dL/dt = -L - tau s.
  const double lead = winding_lead_k({current(0, 30), body(0.2, 30, 0)}, {0.06, 0.4, 40}, 24.1);
  EXPECT_NEAR(lead, -40 * 0.2 * (1 - std::exp(-24.1 / 40)), 1e-9);
  // A slow sensor reads the same rise later.
  EXPECT_NEAR(winding_lead_k({current(0, 30), body(0.2, 30, 2), 2}, {0.06, 0.4, 40}, 24.1), lead,
              0.02);
}

// Warm by the constants of a model that has learned all there is.
ModelFacts learned() {
  ModelFacts model = made::context().model;
  ThermalCorrection& t = model.thermal;
  t = {};
  t.speed_per_case_k = 0.002;
  t.flow_per_head_k = -5e-4;
  t.flow_per_head_k_pa = -2e-10;
  t.flow_per_speed = 0.98;
  t.winding_k_w = 0.4;
  t.winding_s = 40;
  return model;
}

PointState at_reference(const ModelFacts& model, double gauge_pa) {
  const ReferenceConditions& reference = model.reference;
  return {reference.supply_voltage_v,        gauge_pa,
          reference.inlet_pressure_abs_pa,   reference.inlet_temperature_k,
          reference.warm_head_temperature_k, reference.warm_case_temperature_k,
          warm_winding_lead_k(reference)};
}

Carry carry_at(const ModelFacts& model, const PointState& state) {
  const auto sensitivities = sensitivities_at(model.nominal, model.reference, state);
  return carry_of(model, sensitivities.value(), state, Knobs(1));
}

TEST(WindingLead, AWarmWindingIsCarriedByCopperTimesItsShareOfTheVoltage) {
  const ModelFacts model = learned();
  PointState state = at_reference(model, 600e3);
  const Carry there = carry_at(model, state);
  EXPECT_NEAR(there.speed, 1, 1e-15);
  EXPECT_NEAR(there.flow, 1, 1e-15);
  state.winding_lead_k += 10;
  const double share = sensitivities_at(model.nominal, model.reference, state)->copper_share;
  EXPECT_GT(share, 0.05);
  const Carry warm = carry_at(model, state);
  EXPECT_NEAR(warm.speed, 1 / (1 - 0.00393 * share * 10), 1e-12);
  EXPECT_NEAR(warm.flow, std::pow(warm.speed, 0.98), 1e-12);
}

TEST(WindingLead, AWarmHeadCostsMoreFlowTheHigherThePressure) {
  const ModelFacts model = learned();
  for (const double gauge_pa : {0.0, 800e3}) {
    PointState state = at_reference(model, gauge_pa);
    state.head_temperature_k += 10;
    EXPECT_NEAR(carry_at(model, state).flow, 1 / (1 - 10 * (5e-4 + 2e-10 * gauge_pa)), 1e-12);
  }
}

TEST(CurrentCarry, AHotHeadCostsCurrentWithTheLogarithmOfThePressureRatio) {
  ModelFacts model = learned();
  model.thermal.current_per_head_k = 1e-4;
  for (const double ratio : {1.0, 5.0, 9.0}) {
    PointState state = at_reference(model, (ratio - 1) * model.reference.inlet_pressure_abs_pa);
    EXPECT_NEAR(carry_at(model, state).current, 1, 1e-15);
    state.head_temperature_k -= 8;
    EXPECT_NEAR(carry_at(model, state).current, 1 / (1 - 8e-4 * std::log(ratio)), 1e-12);
  }
}

TEST(CurrentCarry, ASlowUnitDrawsMoreAtItsOwnSpeedThanTheTypeModelSays) {
  ModelFacts model = learned();
  PointState state = at_reference(model, 600e3);
  state.supply_voltage_v *= 0.97;
  const Carry type_alone = carry_at(model, state);
  model.thermal.current_per_speed = 0.07;
  const Carry carry = carry_at(model, state);
  EXPECT_NEAR(carry.speed, type_alone.speed, 1e-15);
  EXPECT_NEAR(carry.current, type_alone.current * std::pow(carry.speed, 0.07), 1e-12);
}

TEST(WindingLead, AModelThatHasLearnedNothingMoreIsCarriedAsEver) {
  ModelFacts model = learned();
  model.thermal = {};
  model.thermal.speed_per_case_k = 0.0014;
  PointState state = at_reference(model, 600e3);
  state.case_temperature_k += 10;
  state.winding_lead_k += 30;
  EXPECT_NEAR(carry_at(model, state).speed, 1 / 1.014, 1e-12);
}

}  // namespace
}  // namespace endgate::analysis

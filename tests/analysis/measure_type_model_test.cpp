#include <gtest/gtest.h>

#include <numbers>

#include "analysis/reference_conditions.h"
#include "analysis/type_model.h"
#include "analysis/type_table.h"
#include "tests/analysis/measure_published.h"
#include "tests/analysis/measure_trace.h"

namespace endgate::analysis {
namespace {

using published::number;
using published::numbers;

TypeState nominal_at(double gauge_pa) {
  return *solve_type_model(made::context().model.nominal, {13.5, gauge_pa, 101325});
}

TEST(TypeModel, RunsAsThePublishedNominalUnit) {
  const std::vector<double> gauge = numbers("type_model.gauge_pa");
  for (std::size_t i = 0; i < gauge.size(); ++i) {
    const TypeState state = nominal_at(gauge[i]);
    EXPECT_NEAR(state.flow_inlet_m3_s * 60000 / numbers("type_model.flow_l_min")[i], 1, 1e-3);
    EXPECT_NEAR(state.speed_rev_s * 60 / numbers("type_model.speed_r_min")[i], 1, 8e-4);
    // Recompression of leaked gas is left out: up to 0.5 % of current at 800 kPa.
    EXPECT_NEAR(state.supply_current_a / numbers("type_model.current_a")[i], 1, 5.5e-3);
  }
}

TEST(TypeModel, HasThePublishedSensitivitiesToVoltageAndBarometer) {
  Context context = made::context();
  context.model.reference.inlet_pressure_abs_pa = 101325;
  const PointState state{13.5, 400000, 101325, 293.15, 333.15, 293.15};
  const Sensitivities found =
      *sensitivities_at(context.model.nominal, context.model.reference, state);
  // The published figures include recompression of leaked gas.
  EXPECT_NEAR(found.flow.voltage, number("type_model.flow_by_voltage"), 0.005);
  EXPECT_NEAR(found.speed.voltage, number("type_model.speed_by_voltage"), 0.005);
  EXPECT_NEAR(found.current.voltage, number("type_model.current_by_voltage"), 0.005);
  EXPECT_NEAR(found.flow.barometer, number("type_model.flow_by_barometer"), 0.005);
  EXPECT_NEAR(found.speed.barometer, number("type_model.speed_by_barometer"), 0.005);
  EXPECT_NEAR(found.current.barometer, number("type_model.current_by_barometer"), 0.005);
}

TEST(TypeModel, DoesThePublishedWorkPerTurnWithoutLosses) {
  NominalPhysics n = made::context().model.nominal;
  n.clearance_ratio = 0.05;
  n.suction_loss_pa = n.discharge_loss_pa = n.leak_m3_s_pa2 = n.friction_torque_nm = 0;
  n.mechanical_efficiency = n.heating_factor = 1;
  const TypeState state = *solve_type_model(n, {13.5, 400000, 101325});
  const double torque = state.supply_current_a * n.machine_constant_v_s;
  EXPECT_NEAR(torque / number("cycle.torque_nm"), 1, 1e-7);
  EXPECT_NEAR(torque * 2 * std::numbers::pi / number("cycle.work_j"), 1, 1e-7);
  const double efficiency = state.flow_inlet_m3_s / state.speed_rev_s / n.swept_volume_m3;
  EXPECT_NEAR(efficiency / number("cycle.efficiency_without_leak"), 1, 1e-7);
}

TEST(TypeModel, BalancesItsOwnMotorEquation) {
  const NominalPhysics n = made::context().model.nominal;
  const TypeState state = nominal_at(600000);
  EXPECT_NEAR(n.winding_resistance_ohm * state.supply_current_a +
                  n.machine_constant_v_s * 2 * std::numbers::pi * state.speed_rev_s +
                  n.brush_drop_v,
              13.5, 1e-9);
}

TEST(TypeModel, RefusesDataThatDescribeNoMachine) {
  NominalPhysics n = made::context().model.nominal;
  EXPECT_FALSE(solve_type_model(n, {0.5, 400000, 101325}));
  EXPECT_FALSE(solve_type_model(n, {13.5, 400000, 0}));
  n.swept_volume_m3 = 0;
  EXPECT_FALSE(solve_type_model(n, {13.5, 400000, 101325}));
}

TEST(ReferenceConditions, ChangeNothingAtTheReferenceState_RC1) {
  const Context context = made::context();
  const PointState state{13.5, 400000, 100000, 293.15, 333.15, 293.15};
  const Sensitivities s = *sensitivities_at(context.model.nominal, context.model.reference, state);
  const Carry carry = carry_of(context.model, s, state, Knobs(1));
  EXPECT_DOUBLE_EQ(carry.speed, 1);
  EXPECT_DOUBLE_EQ(carry.current, 1);
  EXPECT_DOUBLE_EQ(carry.flow, 1);
}

// A nominal unit measured elsewhere must come back to what it does at the reference.
TEST(ReferenceConditions, CarryANominalUnitHomeFromAnotherVoltageAndBarometer) {
  const Context context = made::context();
  const TypeState home = *solve_type_model(context.model.nominal, {13.5, 400000, 100000});
  const TypeState away = *solve_type_model(context.model.nominal, {13.1, 400000, 96000});
  const PointState state{13.1, 400000, 96000, 293.15, 333.15, 293.15};
  const Sensitivities s = *sensitivities_at(context.model.nominal, context.model.reference, state);
  const Carry carry = carry_of(context.model, s, state, Knobs(1));
  EXPECT_NEAR(away.speed_rev_s * carry.speed / home.speed_rev_s, 1, 2e-5);
  EXPECT_NEAR(away.supply_current_a * carry.current / home.supply_current_a, 1, 2e-5);
  EXPECT_NEAR(away.flow_inlet_m3_s * carry.flow / home.flow_inlet_m3_s, 1, 5e-5);
}

TEST(ReferenceConditions, TakeOffWhatAColdUnitDeliversMore) {
  Context context = made::context();
  context.model.thermal.flow_per_head_k = -2.5e-4;
  const PointState cold{13.5, 400000, 100000, 293.15, 313.15, 293.15};
  const Sensitivities s = *sensitivities_at(context.model.nominal, context.model.reference, cold);
  EXPECT_NEAR(carry_of(context.model, s, cold, Knobs(1)).flow, 1 / 1.005, 1e-12);
}

TEST(ReferenceConditions, RefuseWhatIsTooFarAway_RC2) {
  const Context context = made::context();
  const PointState near{13.5, 400000, 100000, 293.15, 333.15, 293.15};
  EXPECT_EQ(beyond_correction(context.model, near, Carry{}), "");
  PointState far = near;
  far.inlet_pressure_abs_pa = 91000;
  EXPECT_NE(beyond_correction(context.model, far, Carry{}), "");
  far = near;
  far.inlet_temperature_k = 309;
  EXPECT_NE(beyond_correction(context.model, far, Carry{}), "");
  EXPECT_NE(beyond_correction(context.model, near, Carry{1.15, 1, 1}), "");
}

TEST(TypeTable, RunsThroughTheHoldsAndStaysLevelBeyondThem) {
  const RatioLine line({{400e3, 1.02}, {0, 1.00}, {401e3, 1.04}});
  EXPECT_DOUBLE_EQ(line.at(-1), 1.00);
  EXPECT_DOUBLE_EQ(line.at(400.5e3), 1.03);  // two holds at one pressure count once
  EXPECT_DOUBLE_EQ(line.at(900e3), 1.03);
  EXPECT_NEAR(line.at(200.25e3), 1.015, 1e-12);
}

}  // namespace
}  // namespace endgate::analysis

// Worked numbers of a permanent-magnet motor, standard machine theory, calculated:
// R 0.06 ohm, k_e 0.036 V s/rad, brush drop 0.9 V.

#include <gtest/gtest.h>

#include "fixtures/bench/physics/motor.h"

namespace simbench {
namespace {

MotorDesign worked_motor() {
  MotorDesign m;
  m.machine_constant_20_v_s = 0.036;
  m.winding_resistance_20_ohm = 0.06;
  m.brush_drop_v = 0.9;
  m.friction_torque_nm = 0.10;
  m.mechanical_efficiency = 1;
  m.breakaway_torque_nm = 0.05;
  m.inertia_kg_m2 = 2e-4;
  return m;
}
constexpr MotorTemperatures kCool{293.15, 293.15};

Supply supply(double volt, double source_ohm = 0) { return {true, volt, source_ohm, 1000}; }

// Speed after a second under a constant load.
double settled_rad_s(const MotorDesign& m, double volt, double gas_torque_nm) {
  double speed = 0;
  for (int i = 0; i < 4000; ++i)
    speed = next_speed_rad_s(m, kCool, electrical(m, kCool, supply(volt), speed).current_a,
                             gas_torque_nm, speed, 0.25e-3);
  return speed;
}

TEST(Motor, DrawsTwentyAmperesAtTheWorkedSpeed) {
  EXPECT_NEAR(electrical(worked_motor(), kCool, supply(13.5), 316.66667).current_a, 20, 1e-5);
}

TEST(Motor, SettlesWhereTorqueAndLoadAgree) {
  // 20 A make 0.72 N m: 0.10 friction, 0.62 gas.
  EXPECT_NEAR(settled_rad_s(worked_motor(), 13.5, 0.62), 316.66667, 1e-4);
}

TEST(Motor, GainsSpeedWithVoltageByMoreThanTheRatioOfVoltages) {
  const MotorDesign m = worked_motor();
  EXPECT_NEAR(settled_rad_s(m, 13.5, 0.62) / settled_rad_s(m, 13.0, 0.62), 1.0458716, 1e-6);
}

TEST(Motor, StallsAtTheCurrentOfWindingAndSource) {
  const Electrical e = electrical(worked_motor(), kCool, supply(13.5, 0.02), 0);
  EXPECT_NEAR(e.current_a, 157.5, 1e-9);
  EXPECT_NEAR(e.terminal_v, 10.35, 1e-9);
}

TEST(Motor, HoldsTheCurrentLimitOfTheSupply) {
  const MotorDesign m = worked_motor();
  const Electrical e = electrical(m, kCool, {true, 13.5, 0.02, 80}, 0);
  EXPECT_DOUBLE_EQ(e.current_a, 80);
  EXPECT_NEAR(e.terminal_v, 80 * 0.06 + 0.9, 1e-12);
}

TEST(Motor, ShowsItsBackEmfWhenTheRelayIsOpen) {
  const Electrical e = electrical(worked_motor(), kCool, {}, 300);
  EXPECT_DOUBLE_EQ(e.current_a, 0);
  EXPECT_NEAR(e.terminal_v, 10.8, 1e-12);
}

TEST(Motor, NeverFeedsTheSupply) {
  EXPECT_DOUBLE_EQ(electrical(worked_motor(), kCool, supply(5), 300).current_a, 0);
}

TEST(Motor, WarmCopperResistsMoreAndWarmMagnetsPullLess) {
  const MotorDesign m = worked_motor();
  EXPECT_NEAR(winding_ohm(m, 293.15 + 100) / 0.06, 1.393, 1e-9);     // 0.393 %/K, IEC 60028
  EXPECT_NEAR(machine_constant_v_s(m, 293.15 + 40), 0.03312, 1e-9);  // ferrite, -0.2 %/K
}

TEST(Motor, StaysAtRestBelowItsBreakawayTorque) {
  EXPECT_DOUBLE_EQ(next_speed_rad_s(worked_motor(), kCool, 4.0, 0, 0, 1e-3), 0);
  EXPECT_GT(next_speed_rad_s(worked_motor(), kCool, 4.3, 0, 0, 1e-3), 0);
}

}  // namespace
}  // namespace simbench

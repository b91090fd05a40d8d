// Smallest sensor noise of the benches: flow 0.05 L/min, current 10 mA, speed 0.3/min.  The table
// has to stay below a tenth.

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "fixtures/bench/physics/gas.h"
#include "fixtures/bench/physics/pump_table.h"
#include "fixtures/bench/physics/spline.h"

namespace simbench {
namespace {

struct Errors {
  double flow_l_min = 0, current_a = 0, speed_per_min = 0;
  void grow(const UnitDesign& unit, const PumpPoint& table, const PumpPoint& direct, double speed) {
    const double flow =
        (table.delivered_kg - direct.delivered_kg) * speed / kReferenceDensity * 60000;
    const MotorDesign& m = unit.motor;
    const double current = (table.gas_torque_nm - direct.gas_torque_nm) / m.mechanical_efficiency /
                           m.machine_constant_20_v_s;
    const double turns = current * m.winding_resistance_20_ohm / m.machine_constant_20_v_s /
                         (2 * std::numbers::pi) * 60;
    flow_l_min = std::max(flow_l_min, std::abs(flow) / unit.cylinders);
    current_a = std::max(current_a, std::abs(current) / unit.cylinders);
    speed_per_min = std::max(speed_per_min, std::abs(turns));
  }
};

// Over the loaded speeds of a unit, off the grid.
Errors worst(const UnitDesign& unit, const Intake& built, const Intake& asked, int points) {
  const PumpTable table(unit, built);
  std::mt19937 random(20);
  const auto between = [&](double low, double high) {
    return low + (high - low) * static_cast<double>(random()) / 4294967296.0;
  };
  const double no_load = (unit.nominal_voltage_v - unit.motor.brush_drop_v) /
                         unit.motor.machine_constant_20_v_s / (2 * std::numbers::pi);
  Errors errors;
  for (int i = 0; i < points; ++i) {
    const PumpDemand demand{asked.pressure_abs_pa + between(0, 1e6), no_load * between(0.78, 1.03),
                            between(293, 340)};
    errors.grow(unit, table.at(asked, demand), pump_point(unit, asked, demand), demand.speed_rev_s);
  }
  return errors;
}

class PumpTableOf : public testing::TestWithParam<Model> {};

TEST_P(PumpTableOf, IsWithinATenthOfTheSmallestSensorNoise) {
  const Errors e = worst(nominal_design(GetParam()), {}, {}, 300);
  RecordProperty("flow_l_min", std::to_string(e.flow_l_min));
  RecordProperty("current_a", std::to_string(e.current_a));
  RecordProperty("speed_per_min", std::to_string(e.speed_per_min));
  EXPECT_LT(e.flow_l_min, 0.005);  // per cylinder: the twin's meter is twice as coarse
  EXPECT_LT(e.current_a, 0.001);
  EXPECT_LT(e.speed_per_min, 0.03);
}

INSTANTIATE_TEST_SUITE_P(Models, PumpTableOf, testing::ValuesIn(kModels));

TEST(PumpTable, FollowsTheRoomWithinAKelvinAndAKilopascal) {
  const UnitDesign unit = nominal_design(Model::p1_60_12);
  const Errors e = worst(unit, {98e3, 296, kGasDry}, {98.5e3, 296.5, kGasDry}, 60);
  EXPECT_LT(e.flow_l_min, 0.05);
  EXPECT_LT(e.current_a, 0.01);
}

TEST(PumpTable, AnswersOutsideItsRangeWithItsEdge) {
  const PumpTable table(nominal_design(Model::p1_60_12), {});
  const PumpPoint point = table.at({}, {5e6, 500, 1000});
  EXPECT_TRUE(std::isfinite(point.delivered_kg));
  EXPECT_GT(table.at({}, {1e5, 1, 293}).delivered_kg, 0);
}

TEST(Spline, GivesBackACubicExactly) {
  const std::vector<double> x{0, 0.7, 1.1, 2, 3.5, 4};
  const std::vector<double> m = spline_matrix(x);
  for (std::size_t r = 0; r < x.size(); ++r) {
    double second = 0;
    for (std::size_t c = 0; c < x.size(); ++c) second += m[r * x.size() + c] * std::pow(x[c], 3);
    EXPECT_NEAR(second, 6 * x[r], 1e-10);
  }
}

}  // namespace
}  // namespace simbench

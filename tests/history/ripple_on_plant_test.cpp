// The speed and the balance found in the current of a simulated unit, against its truth.  The
// commutation ripple (3 % of the current, 16 a revolution) and the noise are added here.

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "analysis/ripple_speed.h"
#include "fixtures/bench/physics/plant.h"

namespace endgate {
namespace {

constexpr double kRateHz = 20000;
constexpr double kTwoPi = 2 * std::numbers::pi;

struct Heard {
  double true_rev_s = 0;  // mean over the record
  analysis::RippleSpeed ripple;
};

Heard listen_to(const simbench::UnitDesign& unit) {
  simbench::Plant plant(unit, {}, {});
  simbench::Actuators set;
  set.motor_relay = true;
  set.supply_set_v = unit.nominal_voltage_v;
  set.back_pressure_set_gauge_pa = 400e3;
  plant.step(8, set);
  std::mt19937_64 random(11);
  std::normal_distribution<double> noise(0, 0.05);
  std::vector<double> current(10000);
  double speed = 0, swing = 0;
  for (double& sample : current) {
    plant.step(1 / kRateHz, set);
    const simbench::PlantState& s = plant.state();
    swing += kTwoPi * s.speed_ripple_rev_s / kRateHz;
    const double commutation = 0.03 * s.current_a * std::cos(16 * (s.crank_angle_rad + swing));
    sample = s.current_a + s.current_ripple_a + commutation + noise(random);
    speed += s.speed_rev_s / static_cast<double>(current.size());
  }
  return {speed, analysis::ripple_speed(current, kRateHz, {16, 25, 75}).value()};
}

TEST(RippleOnPlant, SpeedIsThatOfTheCrankAndADeadCylinderShows) {
  const simbench::UnitDesign twin = simbench::nominal_design(simbench::Model::p2_120_24);
  const Heard whole = listen_to(twin);
  const Heard dead = listen_to(simbench::with_fault(twin, simbench::Fault::dead_cylinder, 1));
  for (const Heard& heard : {whole, dead}) {
    EXPECT_TRUE(heard.ripple.trusted());
    EXPECT_NEAR(heard.ripple.speed_rev_s, heard.true_rev_s, 1e-4 * heard.true_rev_s);
  }
  const double balanced = analysis::cylinder_imbalance(whole.ripple).value().value;
  const double unequal = analysis::cylinder_imbalance(dead.ripple).value().value;
  RecordProperty("balanced", std::to_string(balanced));
  RecordProperty("unequal", std::to_string(unequal));
  EXPECT_LT(balanced, 0.1);
  EXPECT_GT(unequal, 1);
}

// Worn, not dead: the second cylinder lacks this share of its flow and torque.  Each step further
// shows, by more than the last one and by more than its uncertainty beside a sound unit.
TEST(RippleOnPlant, AWornCylinderShowsTheMoreTheLessItDelivers) {
  const simbench::UnitDesign twin = simbench::nominal_design(simbench::Model::p2_120_24);
  const auto sound = analysis::cylinder_imbalance(listen_to(twin).ripple).value();
  double before = sound.value;
  for (const double lost : {0.1, 0.2, 0.4, 0.7}) {
    const Heard heard = listen_to(simbench::with_fault(twin, simbench::Fault::dead_cylinder, lost));
    EXPECT_TRUE(heard.ripple.trusted());
    const auto worn = analysis::cylinder_imbalance(heard.ripple).value();
    RecordProperty("lost_" + std::to_string(lost), std::to_string(worn.value));
    EXPECT_GT(worn.value, before) << lost;
    EXPECT_GT(worn.value - sound.value, 3 * std::hypot(worn.u, sound.u)) << lost;
    before = worn.value;
  }
}

}  // namespace
}  // namespace endgate

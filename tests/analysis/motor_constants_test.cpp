#include "analysis/motor_constants.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>

#include "tests/analysis/measure_trace.h"

namespace endgate::analysis {
namespace {

constexpr double kMotorTurn_rad = 2 * std::numbers::pi;
constexpr double kMotorRoom_k = 293.15;

struct MotorHold {
  double volt = 0;
  double ampere = 0;
  double rad_s = 0;
  double winding_k = kMotorRoom_k;
};

// Three loads at three voltages, from the published relations of a machine of 0.06 ohm, 0.036 V s
// and 0.9 V of brush drop; the motor is switched off in the last.
const std::array<MotorHold, 3> kMotorLoads{
    {{12.0, 8, 295.0}, {13.0, 14, 312.777778}, {13.8, 20, 325.0}}};

class MotorConstantsTest : public ::testing::Test {
 protected:
  void use(std::span<const MotorHold> loads) {
    context_.model.metrics = {"machine_constant"};
    context_.model.thermal.speed_per_case_k = 0.002;
    survey_.context = &context_;
    marks_.resize(loads.size());
    for (std::size_t i = 0; i < loads.size(); ++i) add(loads[i], i);
    const double end_s = static_cast<double>(loads.size());
    for (double t = 0; t < end_s + 1; t += 0.02) {
      survey_.gas.time_s.push_back(t);
      survey_.gas.motor_on.push_back(t < end_s ? 1 : 0);
    }
    const double emf = 0.036 * loads.back().rad_s;
    measured_.run_down = RunDown{end_s, emf, 1200 * 0.036};
  }

  void add(const MotorHold& load, std::size_t i) {
    marks_[i].end_us = static_cast<std::int64_t>(1000000 * (i + 1));
    HoldWindow hold;
    hold.step = &marks_[i];
    hold.window = Window{static_cast<double>(i), static_cast<double>(i) + 1};
    survey_.holds.push_back(hold);
    HoldReading reading;
    reading.state.supply_voltage_v = load.volt;
    reading.state.inlet_pressure_abs_pa = 100000;
    reading.state.inlet_temperature_k = kMotorRoom_k;
    reading.state.head_temperature_k = kMotorRoom_k;
    reading.state.case_temperature_k = kMotorRoom_k;
    reading.state.winding_lead_k = load.winding_k - kMotorRoom_k;
    reading.supply_current_a = load.ampere;
    reading.speed_rev_s = load.rad_s / kMotorTurn_rad;
    measured_.holds.push_back(reading);
  }

  [[nodiscard]] Outcome<MotorConstants> found() const {
    return motor_constants(survey_, measured_, Knobs(context_.bench.receivers.size()));
  }

  Context context_ = made::context();
  std::vector<StepMark> marks_;
  Survey survey_;
  Measured measured_{{},
                     Refusal{RefusalKind::missing_step, "none", {}},
                     Refusal{RefusalKind::missing_step, "none", {}},
                     Refusal{RefusalKind::missing_step, "none", {}}};
};

TEST_F(MotorConstantsTest, GivesThePublishedMachine) {
  use(kMotorLoads);
  const MotorConstants motor = *found();
  EXPECT_NEAR(motor.machine_constant_v_s, 0.036, 1e-12);
  EXPECT_NEAR(motor.winding->winding_resistance_ohm, 0.06, 1e-8);
  EXPECT_NEAR(motor.winding->brush_drop_v, 0.9, 1e-7);
  // The load that 20 A drove slows the crank down by 1200 rad/s in a second.
  EXPECT_NEAR(motor.moment_of_inertia_kg_m2, 0.036 * 20 / 1200, 1e-12);
}

// What one voltage alone does not give: here speed is a straight line in current.
TEST_F(MotorConstantsTest, TheRunDownTellsApartWhatOneVoltageDoesNot) {
  std::vector<MotorHold> one;
  for (const double ampere : {5.0, 19.0, 21.0})
    one.push_back({13.5, ampere, (13.5 - 0.9 - 0.06 * ampere) / 0.036});
  use(one);
  const MotorConstants motor = *found();
  EXPECT_NEAR(motor.winding->winding_resistance_ohm, 0.06, 1e-9);
  EXPECT_NEAR(motor.winding->brush_drop_v, 0.9, 1e-8);
}

TEST_F(MotorConstantsTest, AWarmWindingIsTakenBackToTwentyDegrees) {
  std::vector<MotorHold> warm(kMotorLoads.begin(), kMotorLoads.end());
  for (MotorHold& load : warm) {
    load.winding_k = kMotorRoom_k + 3 * load.ampere;
    const double more = 0.06 * 0.00393 * 3 * load.ampere * load.ampere;
    load.rad_s -= more / 0.036;
  }
  use(warm);
  EXPECT_NEAR(found()->winding->winding_resistance_ohm, 0.06, 1e-8);
}

TEST_F(MotorConstantsTest, RefusesTheWindingWhereTheLoadsAreAlike) {
  use(std::array<MotorHold, 2>{{{13.5, 19, 318.333}, {13.5, 20, 316.667}}});
  const MotorConstants motor = *found();
  EXPECT_NEAR(motor.machine_constant_v_s, 0.036, 1e-12);
  ASSERT_FALSE(motor.winding);
  EXPECT_EQ(motor.winding.error().kind, RefusalKind::span_too_narrow);
  EXPECT_NE(motor.winding.error().detail.find("differ too little"), std::string::npos);
}

TEST_F(MotorConstantsTest, WithoutARunDownNothingIsSaid) {
  use(kMotorLoads);
  measured_.run_down = Refusal{RefusalKind::too_few_points, "it stood still", {}};
  ASSERT_FALSE(found());
  EXPECT_EQ(found().error().detail, "it stood still");
}

TEST_F(MotorConstantsTest, TheHoldBeforeIsTheOneThatTheMotorWasSwitchedOffIn) {
  use(kMotorLoads);
  EXPECT_EQ(hold_before_off(survey_), 2);
  marks_[2].end_us -= 500000;  // it ended, and the motor ran on
  EXPECT_EQ(hold_before_off(survey_), std::nullopt);
}

}  // namespace
}  // namespace endgate::analysis

#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <vector>

#include "fixtures/bench/physics/gas.h"
#include "fixtures/bench/physics/plant.h"
#include "fixtures/bench/physics/pump.h"
#include "fixtures/bench/physics/truth.h"

namespace simbench {
namespace {

constexpr Room kRoom{293.15, 100000, 0.4};

Actuators running(const UnitDesign& unit, double set_gauge_pa) {
  Actuators a;
  a.motor_relay = true;
  a.supply_set_v = unit.nominal_voltage_v;
  a.back_pressure_set_gauge_pa = set_gauge_pa;
  return a;
}

void run(Plant& plant, const Actuators& a, double seconds) {
  for (int i = 0; i < static_cast<int>(std::lround(seconds * 100)); ++i) plant.step(0.01, a);
}

std::vector<double> numbers_of(const PlantState& s) {
  return {s.time_s,
          s.receiver_pressure_gauge_pa,
          s.receiver_ripple_pa,
          s.receiver_gas_k,
          s.receiver_wall_k,
          s.receiver_water_kg,
          s.delivered_kg_s,
          s.delivered_gas_k,
          s.meter_flow_std_m3_s,
          s.current_a,
          s.terminal_voltage_v,
          s.current_ripple_a,
          s.speed_rev_s,
          s.speed_ripple_rev_s,
          s.crank_angle_rad,
          s.head_k,
          s.case_k,
          s.winding_k,
          s.ambient_k,
          s.barometric_abs_pa,
          s.seal_pressure_gauge_pa};
}

class PlantOf : public testing::TestWithParam<Model> {};

TEST_P(PlantOf, ReachesEveryPressureWithFlowThatFallsSmoothly) {
  const UnitDesign unit = nominal_design(GetParam());
  Plant plant(unit, {}, kRoom);
  double before = 1e9, first = 0;
  for (double gauge : {0.0, 2e5, 4e5, 6e5, 8e5}) {
    run(plant, running(unit, gauge), 8);
    const double flow = plant.state().meter_flow_std_m3_s;
    EXPECT_NEAR(plant.state().receiver_pressure_gauge_pa, gauge, gauge > 0 ? 500 : 2500);
    EXPECT_LT(flow, before);
    if (gauge == 0) first = flow;
    before = flow;
  }
  EXPECT_GT(before, 0.35 * first);
}

TEST_P(PlantOf, MetersWhatIsDeliveredOnceTheReceiverHasSettled) {
  const UnitDesign unit = nominal_design(GetParam());
  Plant plant(unit, {}, kRoom);
  run(plant, running(unit, 4e5), 60);
  // The head still warms: delivery falls by some 0.05 % a second, and the meter is behind.
  const PlantState& s = plant.state();
  EXPECT_NEAR(s.meter_flow_std_m3_s * kMeterDensity / s.delivered_kg_s, 1, 2e-3);
}

TEST_P(PlantOf, IsAtTheTruthWhenItIsWarmAndTheRoomIsTheReference) {
  const UnitDesign unit = nominal_design(GetParam());
  const WarmState warm = warm_state(GetParam());
  Plant plant(unit, {}, {293.15, 100000, 0});
  Actuators a = running(unit, 6e5);
  // Terminal voltage is nominal when the set value makes up for the source.
  const BenchDesign bench;
  for (int i = 0; i < 20000 && plant.state().head_k < warm.head_k; ++i) {
    a.supply_set_v = unit.nominal_voltage_v + bench.supply_source_ohm * plant.state().current_a;
    plant.step(0.01, a);
  }
  const auto truth = truth_of(unit).metrics;
  const PlantState& s = plant.state();
  // Per revolution: the case is not at its warm temperature at the same moment as the head.
  const double per_turn = truth.at("fad_600") / truth.at("speed_600");
  EXPECT_NEAR(s.delivered_kg_s / kReferenceDensity / s.speed_rev_s / per_turn, 1, 5e-4);
  EXPECT_NEAR(s.current_a / truth.at("current_600"), 1, 5e-3);
  EXPECT_NEAR(s.speed_rev_s / truth.at("speed_600"), 1, 5e-3);
}

TEST_P(PlantOf, AndTruthAgreeOnWhichStuckPistonStillStarts) {
  for (const double severity : {0.2, 0.4, 0.45, 0.5, 0.55, 0.6, 0.7, 0.8, 0.9, 1.0}) {
    const UnitDesign unit = with_fault(nominal_design(GetParam()), Fault::no_start, severity);
    Plant plant(unit, {}, {293.15, 100000, 0});
    const Actuators a = running(unit, 0);
    for (int i = 0; i < 200; ++i) plant.step(0.01, a);
    EXPECT_EQ(plant.state().speed_rev_s > 1, truth_of(unit).metrics.contains("speed_600"))
        << severity;
  }
}

TEST_P(PlantOf, StaysFiniteUnderAnySequenceOfActuators) {
  std::mt19937 random(static_cast<unsigned>(GetParam()) + 40);
  const auto chance = [&] { return random() % 2 == 0; };
  const auto below = [&](unsigned n) { return static_cast<double>(random() % n); };
  Plant plant(nominal_design(GetParam()), {}, {308, 97000, 0.9});
  for (int i = 0; i < 400; ++i) {
    Actuators a;
    a.motor_relay = chance();
    a.supply_set_v = below(40);
    a.back_pressure_set_gauge_pa = 1000 * below(1200);
    a.vent_open = random() % 5 == 0;
    a.shut_off = chance();
    a.large_receiver = chance();
    a.seal_fill_open = chance();
    a.seal_vent_open = chance();
    if (i % 50 == 0) a.supply_set_v = std::nan("");
    if (i % 70 == 0) a.back_pressure_set_gauge_pa = -INFINITY;
    plant.step(0.001 * below(700), a);
    for (double x : numbers_of(plant.state())) ASSERT_TRUE(std::isfinite(x)) << i;
    ASSERT_GT(plant.state().receiver_pressure_gauge_pa, -20e3);
    ASSERT_LT(plant.state().receiver_pressure_gauge_pa, 1.1e6);
    ASSERT_GT(plant.state().receiver_gas_k, 180);
  }
}

INSTANTIATE_TEST_SUITE_P(Models, PlantOf, testing::ValuesIn(kModels));

TEST(Plant, RepeatsItselfBitForBit) {
  const UnitDesign unit = nominal_design(Model::p1_60_12);
  Plant a(unit, {}, kRoom), b(unit, {}, kRoom);
  run(a, running(unit, 3e5), 5);
  run(b, running(unit, 3e5), 5);
  EXPECT_EQ(numbers_of(a.state()), numbers_of(b.state()));
}

TEST(Plant, StaysFiniteWithEveryFaultAtFullSeverity) {
  for (const FaultName& fault : kFaults) {
    const UnitDesign unit = with_fault(nominal_design(Model::p2_120_24), fault.fault, 1);
    Plant plant(unit, {}, kRoom);
    for (double gauge : {0.0, 8e5}) run(plant, running(unit, gauge), 3);
    for (double x : numbers_of(plant.state())) ASSERT_TRUE(std::isfinite(x)) << fault.name;
  }
}

TEST(Plant, DeliversMoreWhenColdThanAfterAMinute) {
  const UnitDesign unit = nominal_design(Model::p1_60_12);
  Plant plant(unit, {}, kRoom);
  run(plant, running(unit, 6e5), 4);
  const double cold = plant.state().delivered_kg_s / plant.state().speed_rev_s;
  run(plant, running(unit, 6e5), 56);
  const double warm = plant.state().delivered_kg_s / plant.state().speed_rev_s;
  EXPECT_GT(cold / warm, 1.01);
  EXPECT_LT(cold / warm, 1.05);
}

TEST(Plant, LetsTheReliefValveEndAPumpUpAgainstAShutValve) {
  const UnitDesign unit = nominal_design(Model::p2_120_24);
  Plant plant(unit, {}, kRoom);
  Actuators a = running(unit, 0);
  a.shut_off = true;
  run(plant, a, 10);
  EXPECT_DOUBLE_EQ(plant.state().meter_flow_std_m3_s, 0);
  EXPECT_GT(plant.state().receiver_pressure_gauge_pa, 0.98e6);
  EXPECT_LT(plant.state().receiver_pressure_gauge_pa, 1.03e6);
}

TEST(Plant, LosesPressureBackThroughTheStoppedUnitAsItsLeakSays) {
  UnitDesign unit = nominal_design(Model::p1_60_12);
  unit.check_valve_leak_m3_s_pa2 *= 10;
  Plant plant(unit, {}, {293.15, 100000, 0});
  run(plant, running(unit, 6e5), 5);
  Actuators a;
  a.shut_off = true;
  run(plant, a, 120);  // the gas is at rest at wall temperature
  const double p = plant.state().receiver_pressure_gauge_pa;
  run(plant, a, 10);
  const double fall = (p - plant.state().receiver_pressure_gauge_pa) / 10;
  const BenchDesign bench;
  const double mid = p + 100000 - 5 * fall;
  const double leak = (back_leak_m3_s_pa2(unit) + bench.fixture_leak_m3_s_pa2) *
                      (mid * mid - 1e10) * 1e5 / bench.small.volume_m3;
  EXPECT_NEAR(fall / leak, 1, 0.02);
}

TEST(Plant, TurnsBackwardsAndPumpsAllTheSameWithReversedLeads) {
  const UnitDesign good = nominal_design(Model::p1_60_12);
  const UnitDesign bad = with_fault(good, Fault::reversed_leads, 1);
  Plant a(good, {}, kRoom), b(bad, {}, kRoom);
  run(a, running(good, 2e5), 4);
  run(b, running(bad, 2e5), 4);
  EXPECT_DOUBLE_EQ(b.state().current_a, -a.state().current_a);
  EXPECT_DOUBLE_EQ(b.state().meter_flow_std_m3_s, a.state().meter_flow_std_m3_s);
  EXPECT_LT(b.state().crank_angle_rad, 0);
}

TEST(Plant, DoesNotTurnWithAStuckPistonAndDrawsTheSupplysLimit) {
  const UnitDesign unit = with_fault(nominal_design(Model::p1_60_12), Fault::no_start, 1);
  Plant plant(unit, {}, kRoom);
  run(plant, running(unit, 0), 1);
  EXPECT_DOUBLE_EQ(plant.state().speed_rev_s, 0);
  EXPECT_DOUBLE_EQ(plant.state().current_a, BenchDesign{}.supply_current_limit_a);
}

TEST(Plant, OpensTheCutOutOfAHotWindingAndClosesItAgain) {
  UnitDesign unit = nominal_design(Model::p1_60_12);
  unit.heat.cut_out_k = 296;
  unit.heat.cut_out_reset_k = 294.5;
  Plant plant(unit, {}, kRoom);
  const Actuators a = running(unit, 8e5);
  int seconds = 0;
  while (!plant.state().cut_out_open && ++seconds < 60) run(plant, a, 1);
  ASSERT_TRUE(plant.state().cut_out_open);
  run(plant, a, 1);
  EXPECT_DOUBLE_EQ(plant.state().current_a, 0);
  EXPECT_DOUBLE_EQ(plant.state().speed_rev_s, 0);
}

TEST(Plant, CoolsTheTwinWithItsFan) {
  const UnitDesign good = nominal_design(Model::p2_120_24);
  const auto head_after = [&](const UnitDesign& unit) {
    Plant plant(unit, {}, kRoom);
    run(plant, running(unit, 6e5), 200);
    return plant.state().head_k;
  };
  const double healthy = head_after(good);
  const double reversed = head_after(with_fault(good, Fault::reversed_fan, 1));
  const double dead = head_after(with_fault(good, Fault::dead_fan, 1));
  EXPECT_LT(healthy + 2, reversed);
  EXPECT_LT(reversed + 2, dead);
}

TEST(Plant, HoldsTheHousingAtItsFillPressureAndLosesItThroughTheSeal) {
  const UnitDesign unit = nominal_design(Model::p1_60_12);
  Plant plant(unit, {}, {293.15, 100000, 0});
  Actuators a;
  a.seal_fill_open = true;
  run(plant, a, 20);
  EXPECT_NEAR(plant.state().seal_pressure_gauge_pa, 20000, 100);
  a.seal_fill_open = false;
  run(plant, a, 60);  // the gas rests
  const double p = plant.state().seal_pressure_gauge_pa + 1e5;
  run(plant, a, 10);
  const double fall = p - plant.state().seal_pressure_gauge_pa - 1e5;
  const double leak = (unit.housing.seal_leak_m3_s_pa2 + BenchDesign{}.fixture_seal_leak_m3_s_pa2) *
                      (p * p - 1e10) * 1e5 / unit.housing.volume_m3 * 10;
  EXPECT_NEAR(fall / leak, 1, 0.03);
}

TEST(Plant, KeepsTheIsolatedReceiverAsItWas) {
  const UnitDesign unit = nominal_design(Model::p1_60_12);
  Plant plant(unit, {}, kRoom);
  Actuators a = running(unit, 6e5);
  run(plant, a, 6);
  a.large_receiver = true;
  run(plant, a, 1);
  EXPECT_LT(plant.state().receiver_pressure_gauge_pa, 1.5e5);
  a.large_receiver = false;
  run(plant, a, 0.02);
  EXPECT_GT(plant.state().receiver_pressure_gauge_pa, 5.5e5);
}

TEST(Plant, StartsANewUnitCold) {
  const UnitDesign unit = nominal_design(Model::p1_60_12);
  Plant plant(unit, {}, kRoom);
  run(plant, running(unit, 6e5), 10);
  plant.clamp(unit);
  EXPECT_DOUBLE_EQ(plant.state().head_k, kRoom.temperature_k);
  EXPECT_NEAR(plant.state().receiver_pressure_gauge_pa, 0, 1e-6);
  EXPECT_DOUBLE_EQ(plant.state().speed_rev_s, 0);
  EXPECT_NEAR(plant.state().time_s, 10, 1e-6);
}

// Zero, start, warm-up, five holds: the state in the middle of it is what "warm" means.
TEST_P(PlantOf, IsWarmBetweenTheHoldsAt400And600) {
  const UnitDesign unit = nominal_design(GetParam());
  const WarmState warm = warm_state(GetParam());
  Plant plant(unit, {}, kRoom);
  run(plant, {}, 3);
  run(plant, running(unit, 0), 15);
  run(plant, running(unit, 2e5), 7);
  run(plant, running(unit, 4e5), 7);
  EXPECT_GT(warm.head_k, plant.state().head_k);
  EXPECT_NEAR(warm.case_k, plant.state().case_k, 2);
  run(plant, running(unit, 6e5), 7);
  EXPECT_LT(warm.head_k, plant.state().head_k);
  EXPECT_NEAR(warm.case_k, plant.state().case_k, 2);
  EXPECT_NEAR(warm.winding_k, plant.state().winding_k, 2.5);
}

}  // namespace
}  // namespace simbench

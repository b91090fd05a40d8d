// What a person does at the bench, and what the bench does at once.

#include "tests/simbench/instruments_bench.h"

namespace simbench {
namespace {

using testing::HasSubstr;

TestBench running_bench() {
  TestBench bench(quiet_options());
  EXPECT_EQ(bench.instruments.clamp(nominal_design(Model::p1_60_12)), std::nullopt);
  bench.switch_on();
  EXPECT_EQ(bench.instruments.write(104, Words{2000, 0}), std::nullopt);
  bench.wait_attended(3);
  return bench;
}

TEST(Cover, OpensRelayAndVentAtOnce) {
  TestBench bench = running_bench();
  ASSERT_FALSE(bench.status(status_bit::vent_open));
  bench.instruments.set_cover(false);
  EXPECT_FALSE(bench.status(status_bit::cover_closed));
  EXPECT_FALSE(bench.status(status_bit::motor_relay_closed));
  EXPECT_TRUE(bench.status(status_bit::vent_open));
  EXPECT_EQ(bench.input_at(input::lapse_count), 0);
}

TEST(EmergencyStop, OpensRelayAndVentAtOnce) {
  TestBench bench = running_bench();
  bench.instruments.set_emergency_stop(true);
  EXPECT_FALSE(bench.status(status_bit::emergency_stop_healthy));
  EXPECT_FALSE(bench.status(status_bit::motor_relay_closed));
  EXPECT_TRUE(bench.status(status_bit::vent_open));
}

TEST(EmergencyStop, KeepsTheVentOpenAndReleasingStartsNothing) {
  TestBench bench = running_bench();
  bench.instruments.set_emergency_stop(true);
  EXPECT_EQ(bench.write(holding::vent, 0), Exception::device_failure);
  bench.instruments.set_emergency_stop(false);
  EXPECT_FALSE(bench.status(status_bit::motor_relay_closed));
  EXPECT_TRUE(bench.status(status_bit::vent_open));
  EXPECT_EQ(bench.write(holding::vent, 0), std::nullopt);
}

TEST(PowerCycle, LosesTheVolatileRegisters) {
  TestBench bench = running_bench();
  bench.instruments.power_cycle();
  const auto words =
      std::get<Words>(bench.instruments.read(Function::read_holding, holding::first, 10));
  EXPECT_THAT(words, testing::ElementsAre(0, 0, 0, 0, 0, 1, 0, 0, 0, 1));
  EXPECT_EQ(bench.input_at(input::lease_age), 65535);
  EXPECT_FALSE(bench.status(status_bit::motor_relay_closed));
}

TEST(PowerCycle, IsRememberedUntilTheOwnerWordIsWritten) {
  TestBench bench;
  ASSERT_EQ(bench.write(holding::owner, 7), std::nullopt);
  EXPECT_FALSE(bench.status(status_bit::power_was_lost));
  bench.instruments.power_cycle();
  EXPECT_TRUE(bench.status(status_bit::power_was_lost));
  ASSERT_EQ(bench.write(holding::lease, 1), std::nullopt);
  EXPECT_TRUE(bench.status(status_bit::power_was_lost));
  ASSERT_EQ(bench.write(holding::owner, 7), std::nullopt);
  EXPECT_FALSE(bench.status(status_bit::power_was_lost));
}

TEST(PowerCycle, LeavesCoverAndEmergencyStopAsTheyAre) {
  TestBench bench;
  bench.instruments.set_cover(false);
  bench.instruments.power_cycle();
  EXPECT_FALSE(bench.status(status_bit::cover_closed));
}

TEST(WeldedRelay, FeedsTheMotorThoughItIsReadBackOpen) {
  TestBench bench(quiet_options());
  ASSERT_EQ(bench.instruments.clamp(nominal_design(Model::p1_60_12)), std::nullopt);
  bench.switch_on();
  bench.wait_attended(0.5);
  bench.instruments.weld_relay(true);
  EXPECT_EQ(bench.write(holding::motor_relay, 0), std::nullopt);
  bench.wait_attended(0.5);
  EXPECT_FALSE(bench.status(status_bit::motor_relay_closed));
  EXPECT_GT(bench.instruments.truth().current_a, 1);
  bench.instruments.weld_relay(false);
  bench.wait(1);
  EXPECT_NEAR(bench.instruments.truth().current_a, 0, 0.01);
}

TEST(StuckValves, StayAndAreReadBackWhereTheyAreWhateverIsWritten) {
  TestBench bench(quiet_options());
  bench.instruments.hold_valves(true);
  EXPECT_EQ(bench.write(holding::vent, 0), std::nullopt);
  EXPECT_EQ(bench.write(holding::back_pressure_set, 4000), std::nullopt);
  EXPECT_TRUE(bench.status(status_bit::vent_open));
  EXPECT_EQ(bench.input_at(input::back_pressure_set), 0);
  bench.instruments.hold_valves(false);
  EXPECT_FALSE(bench.status(status_bit::vent_open));
  EXPECT_EQ(bench.input_at(input::back_pressure_set), 4000);
}

TEST(FixtureClamp, ClosesInAMomentAndOnAUnitOnly) {
  TestBench bench(quiet_options());
  ASSERT_EQ(bench.write(holding::clamp, 1), std::nullopt);
  bench.wait(1);
  EXPECT_FALSE(bench.status(status_bit::fixture_clamped)) << "there is no unit in it";
  ASSERT_EQ(bench.instruments.clamp(nominal_design(Model::p1_60_12)), std::nullopt);
  EXPECT_TRUE(bench.status(status_bit::fixture_clamped));
  ASSERT_EQ(bench.write(holding::clamp, 0), std::nullopt);
  bench.wait(0.01);
  EXPECT_FALSE(bench.status(status_bit::fixture_clamped));
  ASSERT_EQ(bench.write(holding::clamp, 1), std::nullopt);
  bench.wait(0.1);
  EXPECT_FALSE(bench.status(status_bit::fixture_clamped)) << "on its way";
  bench.wait(0.3);
  EXPECT_TRUE(bench.status(status_bit::fixture_clamped));
  EXPECT_EQ(bench.write(holding::clamp, 2), Exception::illegal_value);
}

TEST(Clamping, IsRefusedWhileTheMotorMayTurnOrPressureIsOn) {
  TestBench bench = running_bench();
  EXPECT_THAT(bench.instruments.unclamp().value_or(""), HasSubstr("relay is closed"));
  ASSERT_EQ(bench.write(holding::motor_relay, 0), std::nullopt);
  const UnitDesign other = nominal_design(Model::p1_20_12);
  EXPECT_THAT(bench.instruments.clamp(other).value_or(""), HasSubstr("under pressure"));
  ASSERT_EQ(bench.write(holding::vent, 1), std::nullopt);
  bench.wait(10);
  EXPECT_EQ(bench.instruments.clamp(other), std::nullopt);
}

TEST(Clamping, TakesAPlantPreparedElsewhere) {
  TestBench bench(quiet_options());
  const UnitDesign unit = nominal_design(Model::p1_60_12);
  ASSERT_EQ(bench.instruments.clamp(bench.instruments.prepare(unit)), std::nullopt);
  bench.switch_on();
  bench.wait_attended(2);
  EXPECT_GT(bench.instruments.truth().speed_rev_s, 10);
}

TEST(Bench, WithNothingClampedTurnsNothing) {
  TestBench bench(quiet_options());
  bench.switch_on();
  bench.wait_attended(1);
  EXPECT_TRUE(bench.status(status_bit::motor_relay_closed));
  EXPECT_EQ(bench.input_at(sensor_of(Channel::speed).address), 0);
  EXPECT_EQ(bench.input_at(sensor_of(Channel::supply_current).address), 0);
}

TEST(Bench, RunsTheSameForTheSameSeedAndOtherwiseForAnother) {
  const auto trace = [](std::uint64_t seed, const std::string& name) {
    InstrumentsOptions options;
    options.seed = seed;
    options.bench = name;
    TestBench bench(options);
    EXPECT_EQ(bench.instruments.clamp(nominal_design(Model::p1_60_12)), std::nullopt);
    bench.switch_on();
    Words all;
    for (int i = 0; i < 50; ++i) {
      EXPECT_EQ(bench.write(holding::lease, 1), std::nullopt);
      bench.wait(0.02);
      const Words now = std::get<Words>(bench.instruments.read(Function::read_input, 0, 18));
      all.insert(all.end(), now.begin(), now.end());
    }
    return all;
  };
  EXPECT_EQ(trace(3, "north"), trace(3, "north"));
  EXPECT_NE(trace(3, "north"), trace(4, "north"));
  EXPECT_NE(trace(3, "north"), trace(3, "south"));
}

}  // namespace
}  // namespace simbench

// The rules of fixtures/bench/register_map.md, one test per sentence.

#include "tests/simbench/instruments_bench.h"

namespace simbench {
namespace {

using testing::ElementsAre;

Exception exception_of(const ReadAnswer& answer) { return std::get<Exception>(answer); }

TEST(Registers, PowerUpWithTheValuesOfTheMap) {
  const TestBench bench;
  const auto words =
      std::get<Words>(bench.instruments.read(Function::read_holding, holding::first, 12));
  EXPECT_THAT(words, ElementsAre(0, 0, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0));
}

TEST(Registers, AreReadInOneStretchFromTheFirstToTheLast) {
  const TestBench bench;
  EXPECT_EQ(std::get<Words>(bench.instruments.read(Function::read_input, 0, 22)).size(), 22U);
  EXPECT_EQ(std::get<Words>(bench.instruments.read(Function::read_holding, 100, 12)).size(), 12U);
}

TEST(Registers, OfUnknownAddressesAnswerException2) {
  const TestBench bench;
  const Instruments& wire = bench.instruments;
  EXPECT_EQ(exception_of(wire.read(Function::read_input, 22, 1)), Exception::illegal_address);
  EXPECT_EQ(exception_of(wire.read(Function::read_input, 10, 13)), Exception::illegal_address);
  EXPECT_EQ(exception_of(wire.read(Function::read_input, 100, 1)), Exception::illegal_address);
  EXPECT_EQ(exception_of(wire.read(Function::read_holding, 99, 1)), Exception::illegal_address);
  EXPECT_EQ(exception_of(wire.read(Function::read_holding, 111, 2)), Exception::illegal_address);
  EXPECT_EQ(exception_of(wire.read(Function::read_input, 65535, 125)), Exception::illegal_address);
  EXPECT_EQ(exception_of(wire.read(Function::read_input, input::samples, 1)),
            Exception::illegal_address)
      << "no device that captures";
}

TEST(Registers, OfCountsThatNoAnswerCanHoldAnswerException3) {
  const TestBench bench;
  const Instruments& wire = bench.instruments;
  EXPECT_EQ(exception_of(wire.read(Function::read_input, 0, 0)), Exception::illegal_value);
  EXPECT_EQ(exception_of(wire.read(Function::read_input, 0, 126)), Exception::illegal_value);
}

TEST(Registers, ThatAreReadOnlyRefuseWritesWithException2) {
  TestBench bench;
  for (std::uint16_t address = input::first; address < input::end; ++address)
    EXPECT_EQ(bench.write(address, 1), Exception::illegal_address) << address;
}

TEST(Registers, RefuseValuesOutOfRangeWithException3AndKeepTheOldOne) {
  TestBench bench;
  const struct {
    std::uint16_t address, most;
  } cases[] = {{102, 1}, {103, 32000}, {104, 10000}, {105, 1},
               {106, 1}, {107, 1},     {108, 1},     {109, 1}};
  for (const auto& [address, most] : cases) {
    const std::uint16_t before = bench.holding_at(address);
    EXPECT_EQ(bench.write(address, static_cast<std::uint16_t>(most + 1)), Exception::illegal_value)
        << address;
    EXPECT_EQ(bench.holding_at(address), before) << address;
  }
}

TEST(Registers, TakeTheirLargestValue) {
  TestBench bench;
  EXPECT_EQ(bench.write(103, 32000), std::nullopt);
  EXPECT_EQ(bench.write(104, 10000), std::nullopt);
  EXPECT_EQ(bench.input_at(input::supply_set), 32000);
  EXPECT_EQ(bench.input_at(input::back_pressure_set), 10000);
}

TEST(Registers, AreAllWrittenOrNone) {
  TestBench bench;
  const Words words{12000, 3000, 0, 2};  // the last one is no state of the shut-off
  EXPECT_EQ(bench.instruments.write(103, words), Exception::illegal_value);
  EXPECT_EQ(bench.holding_at(103), 0);
  EXPECT_EQ(bench.holding_at(105), 1);
  EXPECT_EQ(bench.instruments.write(105, Words{0, 0, 0, 0, 1, 0, 0, 0}),
            Exception::illegal_address);
  EXPECT_EQ(bench.holding_at(105), 1);
}

TEST(Registers, TakeOwnerLeaseAndRelayInOneWrite) {
  TestBench bench;
  bench.switch_on();
  EXPECT_TRUE(bench.status(status_bit::motor_relay_closed));
}

TEST(OwnerWord, IsTakenWhenNobodyOwnsTheBench) {
  TestBench bench;
  EXPECT_EQ(bench.write(holding::owner, 7), std::nullopt);
  EXPECT_EQ(bench.holding_at(holding::owner), 7);
}

TEST(OwnerWord, IsNotTakenAwayByAnother) {
  TestBench bench;
  ASSERT_EQ(bench.write(holding::owner, 7), std::nullopt);
  EXPECT_EQ(bench.write(holding::owner, 8), Exception::device_failure);
  EXPECT_EQ(bench.holding_at(holding::owner), 7);
  EXPECT_EQ(bench.write(holding::owner, 7), std::nullopt);
}

TEST(OwnerWord, MayBeGivenBackByAnybody) {
  TestBench bench;
  ASSERT_EQ(bench.write(holding::owner, 7), std::nullopt);
  EXPECT_EQ(bench.write(holding::owner, 0), std::nullopt);
  EXPECT_EQ(bench.write(holding::owner, 8), std::nullopt);
}

TEST(MotorRelay, NeedsAnOwner) {
  TestBench bench;
  ASSERT_EQ(bench.write(holding::lease, 1), std::nullopt);
  EXPECT_EQ(bench.write(holding::motor_relay, 1), Exception::device_failure);
  EXPECT_FALSE(bench.status(status_bit::motor_relay_closed));
}

TEST(MotorRelay, NeedsALiveLease) {
  TestBench bench;
  ASSERT_EQ(bench.write(holding::owner, 7), std::nullopt);
  EXPECT_EQ(bench.write(holding::motor_relay, 1), Exception::device_failure);
  ASSERT_EQ(bench.write(holding::lease, 1), std::nullopt);
  EXPECT_EQ(bench.write(holding::motor_relay, 1), std::nullopt);
}

TEST(MotorRelay, NeedsCoverAndEmergencyStopCircuit) {
  TestBench bench;
  ASSERT_EQ(bench.instruments.write(holding::owner, Words{7, 1}), std::nullopt);
  bench.instruments.set_cover(false);
  EXPECT_EQ(bench.write(holding::motor_relay, 1), Exception::device_failure);
  bench.instruments.set_cover(true);
  bench.instruments.set_emergency_stop(true);
  EXPECT_EQ(bench.write(holding::motor_relay, 1), Exception::device_failure);
  bench.instruments.set_emergency_stop(false);
  EXPECT_EQ(bench.write(holding::motor_relay, 1), std::nullopt);
}

TEST(MotorRelay, IsAlwaysSwitchedOff) {
  TestBench bench;
  EXPECT_EQ(bench.write(holding::motor_relay, 0), std::nullopt);  // no owner, no lease
  bench.switch_on();
  bench.instruments.set_emergency_stop(true);
  EXPECT_EQ(bench.write(holding::motor_relay, 0), std::nullopt);
}

TEST(Lease, CountsItsAgeAndSaturates) {
  TestBench bench;
  EXPECT_EQ(bench.input_at(input::lease_age), 65535);
  ASSERT_EQ(bench.write(holding::lease, 5), std::nullopt);
  EXPECT_EQ(bench.input_at(input::lease_age), 0);
  bench.wait(0.123);
  EXPECT_EQ(bench.input_at(input::lease_age), 123);
  bench.instruments.advance(0.001, 70);
  EXPECT_EQ(bench.input_at(input::lease_age), 65535);
}

TEST(Lease, KeepsTheRelayClosedWhileItIsRenewed) {
  TestBench bench;
  bench.switch_on();
  bench.wait_attended(3);
  EXPECT_TRUE(bench.status(status_bit::motor_relay_closed));
  EXPECT_EQ(bench.input_at(input::lapse_count), 0);
}

TEST(Lease, OpensTheRelayWhenNotWrittenFor500Ms) {
  TestBench bench;
  bench.switch_on();
  bench.wait(0.499);
  EXPECT_TRUE(bench.status(status_bit::motor_relay_closed));
  EXPECT_TRUE(bench.status(status_bit::lease_live));
  bench.wait(0.001);
  EXPECT_FALSE(bench.status(status_bit::motor_relay_closed));
  EXPECT_FALSE(bench.status(status_bit::lease_live));
  EXPECT_TRUE(bench.status(status_bit::relay_latched_open));
  EXPECT_EQ(bench.holding_at(holding::motor_relay), 0);
  EXPECT_EQ(bench.input_at(input::lapse_count), 1);
}

TEST(Lease, LatchesTheRelayOpenUntilAFreshOn) {
  TestBench bench;
  bench.switch_on();
  bench.wait(0.6);
  ASSERT_EQ(bench.write(holding::lease, 1), std::nullopt);
  bench.wait(0.1);
  EXPECT_FALSE(bench.status(status_bit::motor_relay_closed));
  EXPECT_TRUE(bench.status(status_bit::relay_latched_open));
  EXPECT_EQ(bench.write(holding::motor_relay, 0), std::nullopt);
  EXPECT_TRUE(bench.status(status_bit::relay_latched_open));
  EXPECT_EQ(bench.write(holding::motor_relay, 1), std::nullopt);
  EXPECT_FALSE(bench.status(status_bit::relay_latched_open));
  EXPECT_TRUE(bench.status(status_bit::motor_relay_closed));
}

TEST(Lease, ThatLapsesUnderAnOpenRelayLatchesNothing) {
  TestBench bench;
  ASSERT_EQ(bench.write(holding::lease, 1), std::nullopt);
  bench.wait(1);
  EXPECT_FALSE(bench.status(status_bit::relay_latched_open));
  EXPECT_EQ(bench.input_at(input::lapse_count), 0);
}

TEST(Lease, IsCountedInSteadyTimeAtAnyRate) {
  TestBench bench;
  bench.switch_on();
  bench.instruments.advance(4.9, 0.49);  // ten times faster than the wall
  EXPECT_TRUE(bench.status(status_bit::motor_relay_closed));
  bench.instruments.advance(0.1, 0.01);
  EXPECT_FALSE(bench.status(status_bit::motor_relay_closed));
}

TEST(Lease, LapsesThoughBenchTimeStandsStill) {
  TestBench bench;
  bench.switch_on();
  bench.instruments.advance(0, 0.5);
  EXPECT_FALSE(bench.status(status_bit::motor_relay_closed));
}

TEST(StatusBits, FollowTheValves) {
  TestBench bench;
  const auto status = [&] { return bench.input_at(input::status) & 0b01111100000U; };
  EXPECT_EQ(status(), 0b00101000000U);  // vent and seal vent open without power
  ASSERT_EQ(bench.instruments.write(105, Words{0, 1, 1, 1, 0}), std::nullopt);
  EXPECT_EQ(status(), 0b01010100000U);
  EXPECT_TRUE(bench.status(status_bit::large_receiver));
}

TEST(Receiver, IsNotChangedOverUnderPressure) {
  TestBench bench(quiet_options());
  ASSERT_EQ(bench.instruments.clamp(nominal_design(Model::p1_60_12)), std::nullopt);
  ASSERT_EQ(bench.write(holding::receiver, 1), std::nullopt);
  bench.switch_on();
  ASSERT_EQ(bench.instruments.write(104, Words{4000, 0}), std::nullopt);
  bench.wait_attended(8);
  ASSERT_GT(bench.instruments.truth().receiver_pressure_gauge_pa, 30e3);
  EXPECT_EQ(bench.write(holding::receiver, 0), Exception::device_failure);
  EXPECT_EQ(bench.write(holding::receiver, 1), std::nullopt);  // it is there already
  EXPECT_TRUE(bench.status(status_bit::large_receiver));
  ASSERT_EQ(bench.instruments.write(102, Words{0, 13500, 0, 1}), std::nullopt);
  bench.wait(20);
  ASSERT_LT(bench.instruments.truth().receiver_pressure_gauge_pa, 20e3);
  EXPECT_EQ(bench.write(holding::receiver, 0), std::nullopt);
}

}  // namespace
}  // namespace simbench

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/definitions/scenario_text.h"

namespace endgate::daemon {
namespace {

using testing::AllOf;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;
using testing::StartsWith;

const std::string kBenchFile = "benches/north.toml";

std::string north() { return scenario_text(kBenchFile); }

std::vector<std::string> errors_of(const std::string& text) {
  return texts_of(load_bench(text, kBenchFile));
}

std::vector<std::string> bench_errors_with(std::string_view from, std::string_view to) {
  return errors_of(with(north(), from, to));
}

TEST(LoadBench, ReadsEveryValueOfAChannel) {
  std::string text = with_key(north(), "period_s", "0.02");
  text = with_key(text, "noise_sigma_si", "60");
  text = with_key(text, "stuck_after_s", "1");
  const Loaded<BenchDefinition> loaded = load_bench(text, kBenchFile);
  ASSERT_THAT(texts_of(loaded), IsEmpty());
  const auto& bench = std::get<BenchDefinition>(loaded);
  ASSERT_THAT(bench.channels, SizeIs(analysis::kRoleCount));
  const ChannelDefinition& pressure = bench.channels[0];
  EXPECT_EQ(pressure.facts.id, "discharge_pressure");
  EXPECT_EQ(pressure.facts.role, analysis::Role::discharge_pressure);
  EXPECT_EQ(pressure.source.device, "io");
  EXPECT_EQ(pressure.source.function, 4);
  EXPECT_EQ(pressure.source.address, 3);
  EXPECT_EQ(pressure.source.type, RegisterType::u16);
  EXPECT_THAT(pressure.source.no_value, ElementsAre(65535));
  EXPECT_EQ(pressure.facts.scale, 20);
  EXPECT_EQ(pressure.facts.offset_si, -50000);
  EXPECT_EQ(pressure.facts.range_max_si, 1250000);
  EXPECT_EQ(pressure.facts.period_s, 0.02);
  EXPECT_EQ(pressure.facts.noise_sigma_si, 60);
  EXPECT_EQ(pressure.facts.stuck_after_s, 1.0);
}

TEST(LoadBench, ReadsClockActuatorsInterlocksAndLease) {
  const auto bench = std::get<BenchDefinition>(load_bench(north(), kBenchFile));
  ASSERT_TRUE(bench.clock);
  EXPECT_EQ(bench.clock->counter.type, RegisterType::u32);
  EXPECT_EQ(bench.clock->tick_s, 0.001);
  const ActuatorDefinition& relay = bench.actuators.front();
  EXPECT_EQ(relay.id, "motor_relay") << "made safe first";
  EXPECT_EQ(relay.safe_si, 0);
  ASSERT_TRUE(relay.read_back_bit);
  EXPECT_EQ(relay.read_back_bit->device, "io") << "taken from the actuator";
  EXPECT_EQ(relay.read_back_bit->bit, 2);
  ASSERT_TRUE(bench.interlocks.relay_latched_open);
  EXPECT_EQ(bench.interlocks.relay_latched_open->bit, 4);
  ASSERT_TRUE(bench.lease);
  EXPECT_EQ(bench.lease->lapses_after.count(), 500);
  EXPECT_NE(bench.owner_word, 0);
}

TEST(LoadBench, AWrongKindOfValueIsPlacedByFileLineColumnAndKey) {
  const std::string text = with(north(), "scale_si = 20\n", "scale_si = \"20\"\n");
  EXPECT_THAT(errors_of(text), ElementsAre("benches/north.toml:" + place_of(text, "\"20\"") +
                                           " channel[1].scale_si: expected a number"));
}

TEST(LoadBench, AWholeNumberIsANumber) {
  EXPECT_THAT(errors_of(with_key(north(), "lag_s", "1")), IsEmpty());
}

TEST(LoadBench, InfinityAndNotANumberAreRefused) {
  EXPECT_THAT(errors_of(with_key(north(), "lag_s", "inf")),
              ElementsAre(AllOf(HasSubstr("channel[1].lag_s"), HasSubstr("found inf or nan"))));
  EXPECT_THAT(errors_of(with_key(north(), "lag_s", "nan")),
              ElementsAre(HasSubstr("expected a finite number of at least 0")));
}

TEST(LoadBench, AnUnknownKeyNamesTheNearestKnownOne) {
  const std::string text = with(north(), "noise_sigma_si =", "noise_sigma =");
  EXPECT_THAT(errors_of(text),
              Contains("benches/north.toml:" + place_of(text, "noise_sigma =") +
                       " channel[1].noise_sigma: expected no key of this name here; did you mean "
                       "\"noise_sigma_si\"?"));
}

TEST(LoadBench, AMissingKeyIsToldWithItsTable) {
  const std::string text = with_key(north(), "lag_s", "");
  EXPECT_THAT(errors_of(text),
              ElementsAre("benches/north.toml:" + place_of(text, "[[channel]]") +
                          " channel[1].lag_s: expected a number of at least 0, but the key is "
                          "missing"));
}

TEST(LoadBench, AChannelWithoutItsUnitIsRefused) {
  EXPECT_THAT(bench_errors_with("unit = \"Pa gauge\"\n", ""),
              ElementsAre(HasSubstr("channel[1].unit: expected a text, but the key is missing")));
}

TEST(LoadBench, AGaugePressureCannotPassForAnAbsoluteOne) {
  EXPECT_THAT(bench_errors_with("unit = \"Pa abs\"", "unit = \"Pa gauge\""),
              ElementsAre(HasSubstr("expected \"Pa abs\", the SI unit of barometric_pressure, "
                                    "found \"Pa gauge\"")));
}

TEST(LoadBench, TheMetersReferenceStateMustBeStated) {
  const std::string text = with(with(north(), "meter_reference_temperature_k = 273.15\n", ""),
                                "meter_reference_pressure_pa = 101325\n", "");
  EXPECT_THAT(errors_of(text), ElementsAre(HasSubstr("meter_reference_temperature_k"),
                                           HasSubstr("meter_reference_pressure_pa")));
}

TEST(LoadBench, AChannelOfAnUnknownDeviceNamesTheNearestDevice) {
  const std::string text =
      with(north(), "unit = \"Pa gauge\"\ndevice = \"io\"", "unit = \"Pa gauge\"\ndevice = \"oi\"");
  EXPECT_THAT(errors_of(text),
              ElementsAre(AllOf(HasSubstr("channel[1].device"), HasSubstr("found \"oi\""),
                                HasSubstr("did you mean \"io\"?"))));
}

TEST(LoadBench, AnIdAndARoleAreUsedOnce) {
  const std::string text = with(with(north(), "id = \"flow\"", "id = \"discharge_pressure\""),
                                "role = \"flow\"\nunit = \"m3/s\"",
                                "role = \"discharge_pressure\"\nunit = \"Pa gauge\"");
  EXPECT_THAT(errors_of(text),
              testing::UnorderedElementsAre(
                  HasSubstr("channel[2].id: expected an id used once"),
                  HasSubstr("channel[2].role: expected a role used once"),
                  HasSubstr("channel: expected a [[channel]] with role \"flow\"")));
}

TEST(LoadBench, AMisspelledRoleDoesNotCauseFurtherComplaints) {
  EXPECT_THAT(bench_errors_with("role = \"flow\"", "role = \"flwo\""),
              testing::UnorderedElementsAre(
                  AllOf(HasSubstr("channel[2].role"), HasSubstr("did you mean \"flow\"?")),
                  HasSubstr("with role \"flow\"")));
}

TEST(LoadBench, ARangeNeedsRoom) {
  EXPECT_THAT(bench_errors_with("range_max_si = 1250000", "range_max_si = -50000"),
              ElementsAre(HasSubstr("channel[1].range_max_si: expected a number above "
                                    "range_min_si")));
}

TEST(LoadBench, TheOrderOfTwoWordsIsNeverGuessed) {
  EXPECT_THAT(bench_errors_with("word_order = \"high_first\"\n", ""),
              ElementsAre(HasSubstr("clock.word_order: expected one of \"high_first\", "
                                    "\"low_first\", but the key is missing")));
}

TEST(LoadBench, ASafeValueLiesWithinTheRange) {
  EXPECT_THAT(bench_errors_with("max_si = 32\nsafe_si = 0", "max_si = 32\nsafe_si = 33"),
              ElementsAre(HasSubstr("actuator[2].safe_si: expected a number from 0 to 32, found "
                                    "33")));
}

TEST(LoadBench, SafeForTheMotorRelayIsOff) {
  EXPECT_THAT(bench_errors_with("address = 102\nsafe_si = 0", "address = 102\nsafe_si = 1"),
              ElementsAre(HasSubstr("expected 0 for the motor relay: safe is off")));
  EXPECT_THAT(bench_errors_with("address = 102\nsafe_si = 0", "address = 102"),
              ElementsAre(HasSubstr("expected 0 for the motor relay: safe is off")));
}

TEST(LoadBench, AnActuatorTheSequenceDoesNotKnowIsRefused) {
  EXPECT_THAT(bench_errors_with("id = \"shut_off\"", "id = \"shutoff\""),
              ElementsAre(HasSubstr("did you mean \"shut_off\"?")));
}

TEST(LoadBench, AnOverLimitHasOneBound) {
  EXPECT_THAT(bench_errors_with("above_si = 1000000", "above_si = 1000000\nbelow_si = 1"),
              ElementsAre(HasSubstr("over_limit[1].above_si: expected either above_si or "
                                    "below_si, one of the two")));
}

TEST(LoadBench, ALeaseIsRenewedWithRoomForALostWrite) {
  EXPECT_THAT(errors_of(with_key(north(), "period_ms", "400")),
              ElementsAre(HasSubstr("lease.period_ms: expected at most half of lapses_after_ms")));
}

TEST(LoadBench, EveryErrorIsToldInTheOrderOfTheFile) {
  std::string text = with(north(), "port = 15020", "port = 0");
  text = with_key(text, "tick_s", "0");
  text = with_key(text, "period_ms", "\"soon\"");
  EXPECT_THAT(errors_of(text), ElementsAre(HasSubstr("device[1].port"), HasSubstr("clock.tick_s"),
                                           HasSubstr("lease.period_ms")));
}

TEST(LoadBench, TextThatIsNotTomlIsPlacedToo) {
  EXPECT_THAT(errors_of("kind = \"bench\"\nid = \n"),
              ElementsAre(StartsWith("benches/north.toml:2:6: expected valid TOML")));
}

TEST(LoadBench, AFileOfAnotherKindIsRefused) {
  EXPECT_THAT(bench_errors_with("kind = \"bench\"", "kind = \"model\""),
              ElementsAre(HasSubstr("kind: expected \"bench\", found \"model\"")));
}

TEST(LoadBench, AnEmptyFileTellsAllThatIsNeeded) {
  const std::vector<std::string> errors = errors_of("");
  EXPECT_THAT(errors, Contains(HasSubstr("kind")));
  EXPECT_THAT(errors, Contains(HasSubstr("at least one [[device]]")));
  EXPECT_THAT(errors, Contains(HasSubstr("role \"seal_pressure\"")));
  EXPECT_THAT(errors, Contains(HasSubstr("an actuator \"motor_relay\"")));
}

}  // namespace
}  // namespace endgate::daemon

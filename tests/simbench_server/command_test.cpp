// The lines of the control port and of the command line.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fixtures/bench/control_command.h"
#include "fixtures/bench/pace.h"
#include "fixtures/bench/physics/population.h"
#include "fixtures/bench/server_options.h"

namespace simbench {
namespace {

using testing::HasSubstr;

std::string error_of(const std::string& line) {
  const ControlCommand command = parse_command(line);
  const auto* error = std::get_if<CommandError>(&command);
  return error == nullptr ? "" : error->sentence;
}

TEST(ControlCommand, ClampsASerialAsThePopulationMadeIt) {
  const std::string serial = make_serial("2648", 117);
  const auto command = std::get<ClampCommand>(parse_command("clamp " + serial));
  EXPECT_EQ(command.serial, serial);
  EXPECT_EQ(command.fault, std::nullopt);
}

TEST(ControlCommand, ClampsASerialWithAFault) {
  const auto command = std::get<ClampCommand>(
      parse_command("clamp " + make_serial("2648", 117) + " ring_wear 0.75\r"));
  EXPECT_EQ(command.fault, Fault::ring_wear);
  EXPECT_EQ(command.severity, 0.75);
}

TEST(ControlCommand, SaysWhatIsWrongWithAClamp) {
  const std::string serial = make_serial("2648", 117);
  EXPECT_THAT(error_of("clamp"), HasSubstr("clamp SERIAL"));
  EXPECT_THAT(error_of("clamp X1"), HasSubstr("X1"));
  EXPECT_THAT(error_of("clamp " + serial + " rust 1"), HasSubstr("unknown fault rust"));
  EXPECT_THAT(error_of("clamp " + serial + " ring_wear 1.5"), HasSubstr("1.5"));
  EXPECT_THAT(error_of("clamp " + serial + " ring_wear nan"), HasSubstr("nan"));
  EXPECT_THAT(error_of("clamp " + serial + " ring_wear 1e"), HasSubstr("1e"));
}

TEST(ControlCommand, KnowsEveryOtherWord) {
  EXPECT_TRUE(std::holds_alternative<UnclampCommand>(parse_command("unclamp")));
  EXPECT_FALSE(std::get<CoverCommand>(parse_command("cover open")).closed);
  EXPECT_TRUE(std::get<CoverCommand>(parse_command("cover closed")).closed);
  EXPECT_TRUE(std::get<EmergencyCommand>(parse_command("emergency pressed")).pressed);
  EXPECT_FALSE(std::get<EmergencyCommand>(parse_command("emergency released")).pressed);
  EXPECT_TRUE(std::holds_alternative<PowerCycleCommand>(parse_command("power cycle")));
  EXPECT_TRUE(std::get<RelayCommand>(parse_command("relay welded")).welded);
  EXPECT_FALSE(std::get<RelayCommand>(parse_command("relay good")).welded);
  EXPECT_TRUE(std::get<RelayCommand>(parse_command("relay refused")).refused);
  EXPECT_FALSE(std::get<RelayCommand>(parse_command("relay welded")).refused);
  EXPECT_EQ(std::get<WaveformCommand>(parse_command("waveform offset 3")).fault.offset_si, 3);
  EXPECT_TRUE(std::get<ValvesCommand>(parse_command("valves stuck")).stuck);
  EXPECT_FALSE(std::get<ValvesCommand>(parse_command("valves good")).stuck);
  EXPECT_EQ(std::get<SilenceCommand>(parse_command("silence 700")).span.count(), 700);
  EXPECT_TRUE(std::holds_alternative<DropCommand>(parse_command("drop")));
}

TEST(ControlCommand, MakesEveryChannelSick) {
  using Kind = ChannelFault::Kind;
  for (const std::string_view name : kChannelNames) {
    const std::string start = "channel " + std::string(name);
    const auto kind = [&](const std::string& how) {
      return std::get<ChannelCommand>(parse_command(start + how)).fault.kind;
    };
    EXPECT_EQ(kind(" stuck"), Kind::stuck);
    EXPECT_EQ(kind(" novalue"), Kind::no_value);
    EXPECT_EQ(kind(" good"), Kind::good);
    EXPECT_EQ(kind(" offset -12.5"), Kind::offset);
  }
  EXPECT_THAT(error_of("channel smell stuck"), HasSubstr("unknown channel smell"));
}

TEST(ControlCommand, RefusesWhatIsHalfSaid) {
  for (const char* line : {"",
                           "   ",
                           "jump",
                           "cover",
                           "cover ajar",
                           "emergency",
                           "power",
                           "silence",
                           "silence -1",
                           "silence soon",
                           "drop it",
                           "unclamp now",
                           "channel",
                           "channel flow",
                           "channel flow offset",
                           "power cycle twice",
                           "relay",
                           "relay open",
                           "valves",
                           "valve stuck"})
    EXPECT_NE(error_of(line), "") << line;
}

template <typename... Words>
std::variant<ServerOptions, UsageError> parse(Words... words) {
  const std::vector<const char*> arguments{words...};
  return parse_options(arguments);
}

TEST(ServerOptions, AreTakenFromTheCommandLine) {
  const auto options = std::get<ServerOptions>(
      parse("--port", "0", "--control", "7", "--seed", "9", "--bench", "south", "--rate", "2.5",
            "--room-temperature-c", "25", "--room-pressure-kpa", "101", "--room-humidity", "0.6",
            "--counter-start", "4294967000", "--counter-freeze-at", "3", "--counter-jump-at", "4",
            "--counter-jump-ms", "-50", "--counter-restart-at", "5", "--counter-on-power-cycle",
            "keep", "--fault-rate", "0.2"));
  EXPECT_EQ(options.port, 0);
  EXPECT_EQ(options.control, 7);
  EXPECT_EQ(options.bench.seed, 9U);
  EXPECT_EQ(options.bench.bench, "south");
  EXPECT_EQ(options.rate, 2.5);
  EXPECT_NEAR(options.bench.room.temperature_k, 298.15, 1e-9);
  EXPECT_NEAR(options.bench.room.pressure_abs_pa, 101e3, 1e-9);
  EXPECT_EQ(options.bench.room.relative_humidity, 0.6);
  EXPECT_EQ(options.bench.counter.start_ms, 4294967000U);
  EXPECT_EQ(options.bench.counter.freeze_at_s, 3);
  EXPECT_EQ(options.bench.counter.jump_at_s, 4);
  EXPECT_EQ(options.bench.counter.jump_ms, -50);
  EXPECT_EQ(options.bench.counter.restart_at_s, 5);
  EXPECT_FALSE(options.bench.counter.restart_on_power_cycle);
  EXPECT_EQ(options.fault_rate, 0.2);
}

TEST(ServerOptions, NameTheOptionThatIsWrong) {
  const auto sentence = [](const auto& parsed) { return std::get<UsageError>(parsed).sentence; };
  EXPECT_THAT(sentence(parse("--speed", "1")), HasSubstr("--speed"));
  EXPECT_THAT(sentence(parse("--rate")), HasSubstr("--rate"));
  EXPECT_THAT(sentence(parse("--rate", "0")), HasSubstr("above 0"));
  EXPECT_THAT(sentence(parse("--rate", "nan")), HasSubstr("above 0"));
  EXPECT_THAT(sentence(parse("--port", "70000")), HasSubstr("70000"));
  EXPECT_THAT(sentence(parse("--room-humidity", "40")), HasSubstr("0 to 1"));
  EXPECT_THAT(sentence(parse("--counter-start", "-1")), HasSubstr("4294967295"));
}

TEST(Pace, GivesRealTimeTimesTheRate) {
  Pace pace(8);
  EXPECT_EQ(pace.due(100).bench_s, 0);
  const Pace::Slice slice = pace.due(100.125);
  EXPECT_DOUBLE_EQ(slice.bench_s, 1);
  EXPECT_DOUBLE_EQ(slice.steady_s, 0.125);
}

TEST(Pace, LosesBenchTimeButNeverSteadyTimeWhenHeldUp) {
  Pace pace(2);
  (void)pace.due(0);
  const Pace::Slice slice = pace.due(10);
  EXPECT_DOUBLE_EQ(slice.bench_s, 2 * kMostCatchUp_s);
  EXPECT_DOUBLE_EQ(slice.steady_s, 10);
}

}  // namespace
}  // namespace simbench

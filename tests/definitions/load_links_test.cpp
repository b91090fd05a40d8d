// Bench files over every kind of link: the examples of fixtures/examples, and what is wrong with
// files like them.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "daemon/definitions/origins.h"
#include "tests/definitions/scenario_text.h"

namespace endgate::daemon {
namespace {

using testing::AllOf;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

std::string example(const std::string& name) {
  std::ifstream in(std::filesystem::path(ENDGATE_SOURCE_DIR) / "fixtures/examples/benches" / name);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

BenchDefinition loaded(const std::string& name) {
  const Loaded<BenchDefinition> result = load_bench(example(name), name);
  EXPECT_THAT(texts_of(result), IsEmpty());
  return std::get<BenchDefinition>(result);
}

std::vector<std::string> errors_with(const std::string& name, std::string_view from,
                                     std::string_view to) {
  return texts_of(load_bench(with(example(name), from, to), name));
}

const ChannelDefinition& channel(const BenchDefinition& bench, const std::string& id) {
  return *std::ranges::find_if(bench.channels, [&](const auto& c) { return c.facts.id == id; });
}

const ActuatorDefinition& actuator(const BenchDefinition& bench, const std::string& id) {
  return *std::ranges::find(bench.actuators, id, &ActuatorDefinition::id);
}

TEST(LoadLinks, ASerialLineHasSeveralUnits) {
  const BenchDefinition bench = loaded("serial_line.toml");
  EXPECT_EQ(bench.devices[0].link, LinkKind::modbus_rtu);
  EXPECT_EQ(bench.devices[0].line.baud, 115200u);
  EXPECT_EQ(channel(bench, "speed").source.unit_id, 4);
  EXPECT_EQ(channel(bench, "speed").source.conversion, Conversion::rate_of_count);
  EXPECT_EQ(actuator(bench, "motor_relay").function, 5);
  EXPECT_EQ(bench.interlocks.cover_closed->function, 2);
}

TEST(LoadLinks, ADeviceSaysHowManyRegistersOneRequestMayAskFor) {
  const auto bench = std::get<BenchDefinition>(
      load_bench(with(example("serial_line.toml"), "baud = 115200",
                      "baud = 115200\nlargest_gap = 0\nmost_registers = 32"),
                 "bench.toml"));
  EXPECT_EQ(bench.devices[0].largest_gap, 0);
  EXPECT_EQ(bench.devices[0].most_registers, 32);
  EXPECT_EQ(loaded("serial_line.toml").devices[0].largest_gap, 16);
  EXPECT_THAT(errors_with("serial_line.toml", "baud = 115200", "baud = 115200\nmost_registers = 3"),
              Contains(HasSubstr("most_registers")));
}

TEST(LoadLinks, ACurrentLoopIsTwoPointsWithAFaultBand) {
  const BenchDefinition bench = loaded("serial_line.toml");
  const ChannelDefinition& pressure = channel(bench, "discharge_pressure");
  EXPECT_DOUBLE_EQ(pressure.facts.scale * 6400 + pressure.facts.offset_si, 0);
  EXPECT_DOUBLE_EQ(pressure.facts.scale * 32000 + pressure.facts.offset_si, 1e6);
  EXPECT_DOUBLE_EQ(pressure.source.fault_below_raw.value(), 5760);   // 3.6 mA
  EXPECT_DOUBLE_EQ(pressure.source.fault_above_raw.value(), 33600);  // 21 mA
}

TEST(LoadLinks, QueriesAndCommandsGetRegistersInTheOrderOfTheFile) {
  const BenchDefinition bench = loaded("instruments.toml");
  const DeviceDefinition& supply = bench.devices[1];
  ASSERT_THAT(supply.queries, SizeIs(3));
  EXPECT_EQ(supply.queries[1].answer, "{number} A");
  EXPECT_EQ(supply.queries[2].text, "VOLT?");
  EXPECT_EQ(channel(bench, "supply_current").source.address, 4);
  EXPECT_EQ(channel(bench, "supply_current").source.type, RegisterType::f64);
  EXPECT_THAT(supply.commands, ElementsAre("VOLT {value}"));
  EXPECT_TRUE(supply.own_pace);
  EXPECT_FALSE(bench.devices[0].own_pace) << "it has the clock and the motor relay";
  EXPECT_EQ(bench.devices[2].error_query, "");
  EXPECT_EQ(bench.devices[2].terminator, "\r\n");
}

TEST(LoadLinks, AnActuatorIsABitOfARegisterOrSeveralRegisters) {
  const BenchDefinition bench = loaded("instruments.toml");
  EXPECT_EQ(actuator(bench, "vent").bit, 1);
  EXPECT_EQ(actuator(bench, "back_pressure").type, RegisterType::f32);
  EXPECT_THAT(actuator(bench, "back_pressure").followed_by, ElementsAre(1));
}

TEST(LoadLinks, AStreamHasColumnsAndIsAClock) {
  const BenchDefinition bench = loaded("sample_stream.toml");
  EXPECT_EQ(channel(bench, "discharge_pressure").source.column, 2);
  ASSERT_TRUE(bench.clock);
  EXPECT_EQ(bench.clock->counter.address, 2);
  EXPECT_EQ(bench.clock->tick_s, 1e-6);
  ASSERT_TRUE(bench.devices[1].time);
  EXPECT_EQ(bench.devices[1].time->counter.device, "io");
}

TEST(LoadLinks, TellsWhereEveryChannelComesFromAndEveryCommandGoes) {
  EXPECT_THAT(origins_of(loaded("serial_line.toml")),
              Contains("speed: line (modbus_rtu /dev/serial/by-id/bench-line at 115200), unit 4, "
                       "function 4, register 0, u16, counts per second over 0.25 s; every 0.05 s"));
  EXPECT_THAT(origins_of(loaded("instruments.toml")),
              Contains("supply_current: supply (scpi_tcp 192.0.2.11:5025), \"MEAS:CURR?\" answered "
                       "by \"{number} A\"; every 0.1 s"));
  EXPECT_THAT(origins_of(loaded("sample_stream.toml")),
              Contains(HasSubstr("supply_current: daq (sample_stream 192.0.2.20:7000), column 0")));
  const auto targets = targets_of(loaded("instruments.toml"));
  EXPECT_THAT(targets,
              Contains(HasSubstr("vent: io (modbus_tcp 192.0.2.10:502), bit 1 of register 40")));
  EXPECT_THAT(targets, Contains(HasSubstr("\"VOLT {value}\"")));
}

TEST(LoadLinks, AnUnknownLinkNamesTheNearest) {
  EXPECT_THAT(
      errors_with("serial_line.toml", "\"modbus_rtu\"", "\"modbus_rtv\""),
      Contains(AllOf(HasSubstr("device[1].link"), HasSubstr("did you mean \"modbus_rtu\"?"))));
}

TEST(LoadLinks, ASerialLineStatesItsParity) {
  EXPECT_THAT(errors_with("serial_line.toml", "parity = \"even\"\n", ""),
              ElementsAre(HasSubstr("device[1].parity")));
}

TEST(LoadLinks, AnAnswerHoldsItsNumberOnce) {
  EXPECT_THAT(errors_with("instruments.toml", "\"{number} A\"", "\"A\""),
              ElementsAre(HasSubstr("answer: expected a pattern that holds {number} once")));
}

TEST(LoadLinks, ARegisterKeyOfAnInstrumentIsRefused) {
  EXPECT_THAT(errors_with("instruments.toml", "query = \"MEAS:VOLT?\"", "address = 3"),
              testing::UnorderedElementsAre(HasSubstr("query"), HasSubstr("address")));
}

TEST(LoadLinks, ACurrentLoopLeavesNoRoomForAScale) {
  EXPECT_THAT(errors_with("serial_line.toml", "current_loop = {", "scale_si = 1\ncurrent_loop = {"),
              Contains(HasSubstr("either current_loop or scale_si")));
}

TEST(LoadLinks, OnlyACountCanWrap) {
  EXPECT_THAT(errors_with("serial_line.toml", "type = \"u16\"\nconvert", "type = \"i16\"\nconvert"),
              ElementsAre(HasSubstr("convert: expected a register of type")));
}

TEST(LoadLinks, AFloatReadBackNeedsATolerance) {
  EXPECT_THAT(errors_with("instruments.toml", "follow_tolerance_si = 0.05\n", ""),
              ElementsAre(HasSubstr("follow_tolerance_si")));
}

TEST(LoadLinks, AStreamTakesNoCommands) {
  EXPECT_THAT(errors_with("sample_stream.toml", "device = \"io\"\naddress = 105",
                          "device = \"daq\"\naddress = 105"),
              Contains(HasSubstr("a sample stream takes none")));
}

}  // namespace
}  // namespace endgate::daemon

// Every row of the table of sensor and actuator faults, over every kind of link: a whole bench on
// the simulated plant, the fault in its wire or at its hand, and the verdict of the evaluation.  None
// is a pass; the motor is off; when the fault is healed the bench is ready again.

#include <map>
#include <set>

#include "tests/proxy/sick_wire_cases.h"

namespace endgate::tests {
namespace {

using testing::Contains;
using testing::HasSubstr;

class SickWire : public WiredBench {
 protected:
  using WiredBench::WiredBench;

  // A busy machine makes holes in what is measured, and nothing passes then: so up to three times.
  void expect_pass() {
    for (int tries = 0; tries < 3; ++tries) {
      start_and_run_to("hold_0");
      until_finished();
      if (evaluated().grade.verdict == analysis::Verdict::pass) return;
      for (int i = 0; i < 100; ++i) io_.run_one_for(5ms);  // evaluating, nobody listened
      expect_bench_back_with_motor_off();
    }
    ADD_FAILURE() << evaluated().grade.reasons.front().sentence;
  }
  void expect_void(const std::string& code, const std::string& said) {
    const analysis::Evaluation got = evaluated();
    EXPECT_EQ(got.grade.verdict, analysis::Verdict::void_);
    ASSERT_FALSE(got.grade.reasons.empty());
    // Another channel may be accused first where a busy machine held the simulated bench up.
    EXPECT_TRUE(std::ranges::any_of(got.grade.reasons,
                                    [&](const analysis::Reason& reason) {
                                      return code.find(reason.code) != std::string::npos;
                                    }))
        << code << ": " << finished_->trace.break_off_detail << got.grade.reasons.front().sentence;
    EXPECT_THAT(finished_->trace.break_off_detail, HasSubstr(said));
    for (const analysis::RawChannel& channel : finished_->trace.channels)
      for (std::size_t i = 1; i < channel.time_us.size(); ++i)
        ASSERT_LT(channel.time_us[i - 1], channel.time_us[i]) << "an old answer in " << channel.id;
  }
  // By the daemon; asking the device itself all the time would hold the daemon up.
  bool relay_is_seen_closed() {
    return bench_->live().interlocks.motor_relay_closed.value_or(false);
  }
  // A motor whose off was read back late is latched until a person clears it.
  void expect_bench_back_with_motor_off() {
    until([this] {
      if (bench_->live().condition == BenchCondition::motor_unknown)
        (void)bench_->clear_motor_alarm("operator 07");
      return bench_->live().condition == BenchCondition::ready;
    });
    EXPECT_FALSE(motor_is_on());
  }
};

class EveryWireFault : public SickWire, public ::testing::WithParamInterface<SickCase> {
 protected:
  EveryWireFault() : SickWire(GetParam().wire) {}
};

TEST_P(EveryWireFault, EndsVoidWithTheMotorOffAndTheBenchComesBack) {
  start_and_run_to("hold_0");
  ASSERT_FALSE(finished_) << finished_->trace.break_off_detail;
  inject(GetParam().in_wire);
  until([this] { return finished_ || !alarms_.empty(); });
  inject("pass");
  until_finished();
  expect_void(GetParam().code, GetParam().said);
  EXPECT_THAT(alarms_, Contains("B-201"));
  expect_bench_back_with_motor_off();
}

std::string case_name(const ::testing::TestParamInfo<SickCase>& info) {
  return std::string(name_of(info.param.wire)) + info.param.name;
}
INSTANTIATE_TEST_SUITE_P(SensorTable, EveryWireFault, ::testing::ValuesIn(cases_of_the_wire()),
                         case_name);

class EveryHandFault : public SickWire, public ::testing::WithParamInterface<SickCase> {
 protected:
  EveryHandFault() : SickWire(GetParam().wire) {}

  // The sensor is a smaller one than the simulated bench's: what it cannot read, it can send.
  void narrow_ranges() {
    for (ChannelDefinition& channel : definition_.channels) {
      if (channel.facts.role == analysis::Role::flow) channel.facts.range_max_si = 0.002;
      if (channel.facts.role == analysis::Role::supply_current) channel.facts.range_max_si = 35;
    }
  }
};

TEST_P(EveryHandFault, EndsVoidAndNamedAndTheBenchComesBackAtRest) {
  be_patient();
  leave_out_leaks();
  if (GetParam().row == SickRow::out_of_range) narrow_ranges();
  start_and_run_to("hold_600");
  ASSERT_FALSE(finished_) << finished_->trace.break_off_detail;
  hand(GetParam().by_hand);
  until([this] { return finished_ || !relay_is_seen_closed(); });
  hand(GetParam().healed);
  until_finished();
  expect_void(GetParam().code, GetParam().said);
  expect_bench_back_with_motor_off();
}

INSTANTIATE_TEST_SUITE_P(SensorTable, EveryHandFault, ::testing::ValuesIn(cases_at_the_bench()),
                         case_name);

// --- Rows that take more than one hand ---

// A channel that comes as 4 to 20 mA: in the stream, samples in whose lower end nothing true lies.
void wire_as_loop(BenchDefinition& bench, Wire wire) {
  for (ChannelDefinition& channel : bench.channels) {
    const bool streamed = channel.source.column.has_value();
    if (streamed) channel.source.fault_below_raw = -10000;
    if (wire == Wire::stream || channel.facts.role != analysis::Role::flow) continue;
    constexpr std::uint16_t kFlowLoop = 18;  // microamperes
    if (wire == Wire::text)
      bench.devices[1].queries.at(channel.source.address / 4).text = "INP? 18";
    else
      channel.source.address = kFlowLoop;
    channel.source.no_value.clear();
    channel.source.fault_below_raw = 3600;  // NAMUR NE 43
    channel.source.fault_above_raw = 21000;
    channel.facts.scale = channel.facts.range_max_si / 16000;
    channel.facts.offset_si = -4000 * channel.facts.scale;
  }
}

struct Swap {
  Wire wire;
  analysis::Role one, other;
};
void PrintTo(const Swap& swap, std::ostream* out) {
  *out << name_of(swap.wire) << " " << analysis::name_of(swap.one) << " for "
       << analysis::name_of(swap.other);
}
constexpr Swap kSwaps[] = {
    {Wire::modbus_tcp, analysis::Role::head_temperature, analysis::Role::case_temperature},
    {Wire::modbus_tcp, analysis::Role::discharge_pressure, analysis::Role::barometric_pressure},
    {Wire::modbus_tcp, analysis::Role::flow, analysis::Role::speed},
    {Wire::modbus_rtu, analysis::Role::supply_voltage, analysis::Role::flow},
    {Wire::modbus_rtu, analysis::Role::seal_pressure, analysis::Role::case_temperature},
    {Wire::text, analysis::Role::flow, analysis::Role::speed},
    {Wire::stream, analysis::Role::supply_current, analysis::Role::supply_voltage},
};

class EveryWire : public SickWire, public ::testing::WithParamInterface<Wire> {
 protected:
  EveryWire() : SickWire(GetParam()) {}
};

// What makes the rows above mean something.
TEST_P(EveryWire, WithoutAFaultPasses) {
  be_patient();
  expect_pass();
}

TEST_P(EveryWire, LeavesTheRelayToTheLeaseAndNeverReplaysAnOn) {
  start_and_run_to("hold_0");
  ASSERT_TRUE(motor_is_on());
  inject("stall");
  const auto cut_off = std::chrono::steady_clock::now();
  until([&] { return std::chrono::steady_clock::now() - cut_off > 700ms; });  // lease: 500 ms
  EXPECT_FALSE(motor_is_on());
  inject("pass");  // commands went into the dead connection meanwhile
  until_finished();
  until_ready();
  for (int i = 0; i < 50; ++i) io_.run_one_for(5ms);
  EXPECT_FALSE(motor_is_on());
  expect_void(kSilence, "");
}

// The first off of a test is that of its back-leak step; the supply is still on then.
TEST_P(EveryWire, AWeldedRelayLocksTheBenchUntilAPersonClearsIt) {
  be_patient();
  for (ActuatorDefinition& actuator : definition_.actuators)
    if (actuator.id == "motor_relay") actuator.follow_within = 120ms;
  start_and_run_to("hold_800");
  hand("relay welded");
  until([this] { return bench_->live().condition == BenchCondition::motor_unknown; });
  EXPECT_EQ(bench_->live().condition_code, "B-101");
  hand("relay good");
  until_finished();
  EXPECT_EQ(evaluated().grade.verdict, analysis::Verdict::void_);
  EXPECT_EQ(bench_->start_refused(model_).value().code, "B-101") << "latched";
  EXPECT_TRUE(bench_->clear_motor_alarm("operator 07"));
  expect_bench_back_with_motor_off();
}

TEST_P(EveryWire, ALoopWhoseWireBreaksIsNamed) {
  be_patient();
  wire_as_loop(definition_, GetParam());
  const bool streams = GetParam() == Wire::stream;
  start_and_run_to("hold_600");
  ASSERT_FALSE(finished_) << finished_->trace.break_off_detail;
  hand(streams ? "waveform offset -100" : "channel flow novalue");
  until([this] { return finished_ || !relay_is_seen_closed(); });
  hand(streams ? "waveform good" : "channel flow good");
  until_finished();
  expect_void(kSilence, streams ? "supply_current" : "flow");
  expect_bench_back_with_motor_off();
}

INSTANTIATE_TEST_SUITE_P(SensorTable, EveryWire, ::testing::ValuesIn(kWires),
                         [](const auto& info) { return std::string(name_of(info.param)); });

class LoopBench : public SickWire {
 protected:
  LoopBench() : SickWire(Wire::modbus_tcp) {}
};

TEST_F(LoopBench, WithoutAFaultPasses) {
  be_patient();
  wire_as_loop(definition_, Wire::modbus_tcp);
  expect_pass();
}

// Two sensors that are plugged into each other's places.
class SwappedSensors : public SickWire, public ::testing::WithParamInterface<Swap> {
 protected:
  SwappedSensors() : SickWire(GetParam().wire) {}

  RegisterSource& source_of(analysis::Role role) {
    for (ChannelDefinition& channel : definition_.channels)
      if (channel.facts.role == role) return channel.source;
    throw std::logic_error("no such channel");
  }
};

TEST_P(SwappedSensors, StartNothingOrEndInNoPass) {
  be_patient();
  std::swap(source_of(GetParam().one), source_of(GetParam().other));
  leave_out_leaks();
  hand("clamp " + sound_unit());
  connect();
  if (const auto refused = bench_->start_refused(model_)) return;
  start_and_run_to("hold_0");
  until_finished();
  const analysis::Evaluation got = evaluated();
  RecordProperty("reason", got.grade.reasons.front().code);
  // A trip that its witness confirms is the unit's, whatever is behind it; all else is void.
  EXPECT_NE(got.grade.verdict, analysis::Verdict::pass) << got.grade.reasons.front().sentence;
  const bool tripped = finished_->trace.trip.has_value();
  EXPECT_TRUE(tripped || got.grade.verdict == analysis::Verdict::void_)
      << got.grade.reasons.front().sentence;
  expect_bench_back_with_motor_off();
}

INSTANTIATE_TEST_SUITE_P(SensorTable, SwappedSensors, ::testing::ValuesIn(kSwaps));

// --- No row of the table without a test on every link ---

constexpr const char* kRowsOfTheTable[] = {
    "Channel silent (no answer)",
    "Device answers but value frozen (stale)",
    "Byte garbage, bad CRC, short/long frame",
    "Late answer to an earlier request",
    "Drip feed (1 byte per 400 ms)",
    "Wrong unit id / wrong function / wrong count",
    "Half-open TCP (peer power-cycled, cable out)",
    "Commands queued in a dead socket then delivered on reconnect",
    "NaN, infinity, out of physical range, broken-wire current",
    "Sensor swapped / calibration expired / config changed in mid-run",
    "Relay command refused, or read-back disagrees",
    "Relay welded (off confirmed, current still flows)",
    "Valve does not move",
    "Over-limit (pressure, current, temperature, speed)",
};
static_assert(std::size(kRowsOfTheTable) == kSickRows);

TEST(SensorTableOfThePaper, HasATestForEveryRowOnEveryLink) {
  std::map<SickRow, std::set<Wire>> shown;
  for (const SickCase& one : cases_of_the_wire()) shown[one.row].insert(one.wire);
  for (const SickCase& one : cases_at_the_bench()) shown[one.row].insert(one.wire);
  for (const Swap& swap : kSwaps) shown[SickRow::swapped].insert(swap.wire);
  for (const Wire wire : kWires) {  // tests of EveryWire
    shown[SickRow::queued].insert(wire);
    shown[SickRow::relay_welded].insert(wire);
  }
  for (std::size_t row = 0; row < kSickRows; ++row)
    for (const Wire wire : kWires)
      EXPECT_TRUE(shown[static_cast<SickRow>(row)].contains(wire))
          << "no test of \"" << kRowsOfTheTable[row] << "\" over " << name_of(wire);
}

}  // namespace
}  // namespace endgate::tests

// Every way in which a sensor, an actuator or a bench's command fails, and how the test on it ends:
// void, named, kept, with the motor off, and never in a pass.
//
// Rows that a whole plant can show are run here, from the wire to the kept record.  Rows that are
// shown closer to where they are decided are listed at the end with their test, and it is checked
// that such a test exists.

#include <gmock/gmock.h>

#include <atomic>

#include "schema/seal.h"
#include "tests/line/line_plant.h"

namespace endgate::test {
namespace {

using namespace endgate::daemon;
using testing::AnyOf;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

using Steady = std::chrono::steady_clock;

template <class Condition>
bool comes(Condition condition, std::chrono::seconds patience = 30s) {
  const auto give_up = Steady::now() + patience;
  while (!condition())
    if (Steady::now() > give_up)
      return false;
    else
      std::this_thread::sleep_for(5ms);
  return true;
}

class SensorTable : public LinePlant {
 protected:
  const std::string unit_ = serial(40);

  // As the bench itself has it, past the service: status bit 2.
  bool relay_is_closed() {
    const simbench::Words words = simbench::Libmodbus(bench_.port()).input(2, 1);
    return words.empty() || (words[0] & 4U) != 0;
  }
  void expect_motor_off() {
    EXPECT_TRUE(comes([this] { return !relay_is_closed(); }));
  }
  void run_into(const std::string& step) {
    begin(unit_);
    wait_for_step(step);
  }
  void expect_void(const std::string& code, const std::string& said) {
    const LineState shown = wait_for_verdict();
    ASSERT_TRUE(shown.result);
    EXPECT_EQ(shown.result->verdict, "void") << shown.result->sentence;
    ASSERT_FALSE(shown.result->reasons.empty());
    EXPECT_EQ(shown.result->reasons.front().code, code) << shown.result->sentence;
    EXPECT_THAT(shown.result->sentence, HasSubstr(said));
    EXPECT_EQ(shown.result->standing, "hold");
    expect_kept_as_void();
  }
  void expect_kept_as_void() {
    const auto kept = schema::StoreReader(data()).records_of(unit_);
    ASSERT_EQ(kept.size(), 1U);
    EXPECT_EQ(kept[0].record.verdict, "void");
    EXPECT_TRUE(kept[0].record.trace_sha256) << "what was measured is kept";
    expect_motor_off();
  }
};

// --- One fault by the hand of a person at the bench ---

struct Row {
  const char* name;
  const char* fault;
  const char* healed;  // when the service has seen the motor off, or nothing any more
  const char* code;
  const char* said;
};
// How a row is listed.
void PrintTo(const Row& row, std::ostream* out) { *out << row.fault; }

class EveryRow : public SensorTable, public ::testing::WithParamInterface<Row> {};

TEST_P(EveryRow, EndsVoidNamedAndKeptWithTheMotorOff) {
  run_into("hold_600");
  hand(GetParam().fault);
  wait_for(
      [](const LineState& s) { return !s.live.interlocks.motor_relay_closed.value_or(false); });
  hand(GetParam().healed);
  expect_void(GetParam().code, GetParam().said);
  wait_for([](const LineState& s) { return s.live.condition == BenchCondition::ready; });
}

INSTANTIATE_TEST_SUITE_P(
    Bench, EveryRow,
    ::testing::Values(
        Row{"OneChannelWithoutValue", "channel flow novalue", "channel flow good",
            "broken_off_silence", "low"},
        Row{"AValueThatStandsStill", "channel flow stuck", "channel flow good", "channel_stuck",
            "low"},
        Row{"ASensorAtTheEndOfItsRange", "channel flow offset 1", "channel flow good",
            "channel_stuck", "low"},
        Row{"OverPressure", "channel discharge_pressure offset 900000",
            "channel discharge_pressure good", "trip_bench", "kPa"},
        Row{"ValvesThatDoNotFollow", "valves stuck", "valves good", "broken_off_actuator_refused",
            "is read back as"},
        Row{"CoverOpened", "cover open", "cover closed", "broken_off_cover_open", "over"},
        Row{"EmergencyStop", "emergency pressed", "emergency released", "broken_off_emergency_stop",
            "mergency stop"},
        Row{"CableOut", "drop", "channel flow good", "broken_off_lost_link", ""},
        Row{"NobodyAnswers", "silence 1500", "channel flow good", "broken_off_silence", ""},
        Row{"PowerLost", "power cycle", "channel flow good", "broken_off_lost_link", ""}),
    [](const auto& info) { return std::string(info.param.name); });

// --- A relay that does not obey ---

// The relay may take as long on the steady clock; here the bench runs faster than that.
class WeldedRelay : public SensorTable {
 protected:
  void edit_config() override {
    replace_value(config() / "benches/north.toml", "follow_within_ms", "120");
  }
};

// Off is taken and read back, and current still flows.  The first off of a test is that of its
// back-leak step.
TEST_F(WeldedRelay, LocksTheBenchUntilAPersonClearsIt) {
  run_into("hold_800");
  hand("relay welded");
  const LineState locked =
      wait_for([](const LineState& s) { return s.phase == LinePhase::press_stop; });
  EXPECT_EQ(locked.code, "B-101");
  EXPECT_THAT(locked.message, HasSubstr("Press the stop button"));
  wait_for([](const LineState& s) { return s.result.has_value(); });
  expect_kept_as_void();
  const auto record = schema::StoreReader(data()).records_of(unit_).at(0).record;
  EXPECT_EQ(record.reasons.at(0).code, "broken_off_actuator_refused");
  EXPECT_THAT(say(scan(serial(41))), HasSubstr("B-101"));
  EXPECT_THAT(say(start()), Not(IsEmpty()));
  EXPECT_TRUE(comes([this] {
    for (const auto& alarm : schema::StoreReader(data()).open_alarms())
      if (alarm.fact.code == std::string("motor_state_unknown")) return true;
    return false;
  }));
  hand("relay good");
  EXPECT_TRUE(comes([this] { return std::holds_alternative<LineState>(clear()); }));
  EXPECT_TRUE(std::holds_alternative<LineState>(scan(serial(41))));
}

// Nothing but a named person clears the alarm, and only with the motor off read back: no scanned
// code, no nameless click, no restart of the service.
TEST_F(WeldedRelay, StaysLockedThroughCodesNamelessClicksAndARestart) {
  const auto locked = [this] { return service_->line("north")->phase == LinePhase::press_stop; };
  run_into("hold_800");
  hand("relay welded");
  wait_for(
      [](const LineState& s) { return s.phase == LinePhase::press_stop && s.result.has_value(); });
  EXPECT_THAT(say(scan("EG-CANCEL")), HasSubstr("B-101"));
  EXPECT_TRUE(locked());
  EXPECT_THAT(say(clear("")), HasSubstr("U-117"));
  close();
  open();
  wait_for([](const LineState& s) { return s.phase == LinePhase::press_stop; });
  EXPECT_THAT(say(scan(serial(43))), HasSubstr("B-101"));
  hand("relay good");
  EXPECT_TRUE(comes([this] { return std::holds_alternative<LineState>(clear("Ada")); }));
  EXPECT_TRUE(comes([this] { return schema::StoreReader(data()).open_alarms().empty(); }));
  close();
  open();
  EXPECT_FALSE(locked());
  EXPECT_TRUE(std::holds_alternative<LineState>(scan(serial(43))));
}

// --- A daemon that hangs ---

TEST_F(SensorTable, ADaemonThatHangsLosesItsLeaseAndTheBenchOpensTheRelay) {
  std::atomic<bool> hang = false;
  std::atomic<bool> hung = false;
  std::promise<void> go_on;
  const auto listener = service_->subscribe([&](const LineState&) {  // on the I/O thread
    if (!hang.exchange(false)) return;
    hung = true;
    go_on.get_future().wait();
  });
  run_into("hold_600");
  hang = true;
  ASSERT_TRUE(comes([&] { return hung.load(); }));
  expect_motor_off();  // by the bench itself: nobody else could
  go_on.set_value();
  const LineState shown = wait_for_verdict();
  EXPECT_EQ(shown.result->verdict, "void") << shown.result->sentence;
  EXPECT_THAT(shown.result->reasons.front().code,
              AnyOf("broken_off_lease_lost", "broken_off_silence", "broken_off_lost_link",
                    "broken_off_clock_sick"));
  expect_kept_as_void();
  service_->unsubscribe(listener);
}

// --- Two daemons on one bench ---

class TwoDaemons : public SensorTable {
 protected:
  void open_second(const std::string& owner_word) {
    write_config(second_.path() / "config", bench_.port(), kRate);
    replace_value(second_.path() / "config/benches/north.toml", "owner_word", owner_word);
    accept_all(second_.path() / "config", second_.path() / "data");
    ServiceDefinition definition;
    definition.data_directory = second_.path() / "data";
    other_ = std::make_unique<LineService>(definition, second_.path() / "config");
  }
  std::string others_code() {
    const auto state = other_->line("north");
    return state ? state->live.condition_code : "";
  }
  CommandAnswer scan_at_other() {
    std::promise<CommandAnswer> answer;
    other_->scan({"north", serial(42), "48-B2", "test"},
                 [&](CommandAnswer got) { answer.set_value(std::move(got)); });
    return answer.get_future().get();
  }

  TemporaryFolder second_;
  std::unique_ptr<LineService> other_;
};

// Off is the one command that anybody may give, so a test under way is broken off by it; the next
// one is not, for the second daemon knows by then whose bench it is.
TEST_F(TwoDaemons, TheSecondOneStartsNothingAndLeavesTheFirstAlone) {
  run_into("hold_0");
  open_second("7");
  wait_for([](const LineState& s) { return s.result.has_value(); });
  expect_kept_as_void();
  ASSERT_TRUE(comes([this] { return others_code() == "B-202"; })) << others_code();
  EXPECT_THAT(say(scan_at_other()), HasSubstr("held by owner word 20001"));
  begin(serial(43), " large_clearance 1");
  const LineState shown =
      wait_for([](const LineState& s) { return s.result && s.serial == serial(43); });
  EXPECT_NE(shown.result->verdict, "pass") << shown.result->sentence;
  EXPECT_EQ(others_code(), "B-202");
  const auto undisturbed = schema::StoreReader(data()).records_of(serial(43));
  ASSERT_EQ(undisturbed.size(), 1U);
  EXPECT_EQ(undisturbed[0].record.break_off, "");
  other_.reset();
  EXPECT_EQ(schema::StoreReader(second_.path() / "data").record_count(), 0);
}

// The other one is alive and ends in mid-test without giving its bench back.
TEST_F(TwoDaemons, ABenchIsTakenFromAServiceThatIsGoneButNotFromOneAtWork) {
  const auto take = [&] {
    std::promise<std::string> answer;
    other_->take_bench({"north", "Ada", "its PC is scrapped"}, [&](const auto& got) {
      const auto* refused = std::get_if<CommandRefusal>(&got);
      answer.set_value(refused == nullptr ? "" : refused->code);
    });
    return answer.get_future().get();
  };
  open_second("7");
  ASSERT_TRUE(comes([this] { return others_code() == "B-202"; })) << others_code();
  run_into("hold_0");
  EXPECT_EQ(take(), "B-219") << "its motor runs";
  wait_for_verdict();
  ASSERT_TRUE(comes([&] { return take().empty(); }));
  const schema::StoreReader kept(second_.path() / "data");
  bool found = false;
  for (schema::Position at = 1; at <= kept.last_position(); ++at) {
    const schema::Fact fact = schema::decode_fact(kept.sealed_fact(at)->bytes);
    const auto* event = std::get_if<schema::BenchEvent>(&fact);
    found = found ||
            (event != nullptr &&
             event->text == "Ada asks to take it over from another service: its PC is scrapped");
  }
  EXPECT_TRUE(found);
}

TEST_F(TwoDaemons, WithOneOwnerWordNeitherEndsATestInAPass) {
  run_into("hold_0");
  open_second("20001");
  wait_for([](const LineState& s) { return s.result.has_value(); });
  expect_kept_as_void();
  other_.reset();
}

// --- Definitions that change in mid-run ---

TEST_F(SensorTable, ACalibrationAcceptedInMidRunIsNotThatOfTheRunningTest) {
  begin(unit_, " large_clearance 1");
  wait_for_step("hold_600");
  std::promise<void> accepted;
  const std::string text = text_in(config() / "calibrations/north.toml") + "\n# new\n";
  service_->accept({"north.toml", text, "test", "calibrated"}, [&](const auto& answer) {
    EXPECT_TRUE(std::holds_alternative<Application::Accepted>(answer));
    accepted.set_value();
  });
  accepted.get_future().wait();
  EXPECT_NE(wait_for_verdict().result->verdict, "pass");
  const auto kept = schema::StoreReader(data()).records_of(unit_);
  ASSERT_EQ(kept.size(), 1U);
  EXPECT_EQ(kept[0].record.break_off, "");
  EXPECT_THAT(kept[0].record.context_ids, Contains("calibration north@1"));
  EXPECT_THAT(kept[0].record.context_ids, Not(Contains("calibration north@2")));
}

// --- Rows with a test of their own elsewhere ---

struct Elsewhere {
  const char* row;
  const char* file;
  const char* test;  // as it stands in the file
};
constexpr Elsewhere kElsewhere[] = {
    {"no answer, late answer, drip feed, short frame, garbage, old transaction, wrong unit, wrong "
     "function, wrong count, half-closed, reset: over a sick wire of every kind of link",
     "tests/proxy/sick_wire_test.cpp",
     "EveryWireFault, EndsVoidWithTheMotorOffAndTheBenchComesBack"},
    {"commands queued in a dead connection are never replayed", "tests/proxy/sick_wire_test.cpp",
     "EveryWire, LeavesTheRelayToTheLeaseAndNeverReplaysAnOn"},
    {"relay refused, relay welded, valve that does not move, over-limit, out of range, frozen: over "
     "every kind of link",
     "tests/proxy/sick_wire_test.cpp",
     "EveryHandFault, EndsVoidAndNamedAndTheBenchComesBackAtRest"},
    {"sensors in each other's places", "tests/proxy/sick_wire_test.cpp",
     "SwappedSensors, StartNothingOrEndInNoPass"},
    {"a current loop whose wire breaks, on a plant", "tests/proxy/sick_wire_test.cpp",
     "EveryWire, ALoopWhoseWireBreaksIsNamed"},
    {"the same at the link", "tests/links/modbus_tcp_link_test.cpp",
     "ModbusTcpLinkTest, NeverReplaysAWriteThatWasQueuedWhenTheConnectionDied"},
    {"peer gone without a word", "tests/links/modbus_tcp_link_test.cpp",
     "ModbusTcpLinkTest, NoticesAPeerThatVanishedWithoutAWord"},
    {"answer of another unit", "tests/links/modbus_tcp_link_test.cpp",
     "ModbusTcpLinkTest, ClosesOnTheAnswerOfAnotherUnit"},
    {"wrong check sum on a serial line", "tests/links/modbus_rtu_link_test.cpp",
     "ModbusRtuLinkTest, ClosesOnAWrongCheckSum"},
    {"device whose counter stands still", "tests/bench/bench_test.cpp",
     "BenchTest, BreaksOffWhenTheCounterFreezes"},
    {"not a number", "tests/bench/frame_maker_test.cpp",
     "FrameMakerTest, KeepsTheBitsOfAFloatAndRefusesNotANumber"},
    {"broken wire of a current loop", "tests/bench/frame_maker_test.cpp",
     "FrameMakerTest, TakesACurrentOutsideTheLoopForAFault"},
    {"out of range", "tests/analysis/measure_channel_health_test.cpp",
     "ChannelHealth, RangeCountsFromThreeSamplesInARowAfterReady"},
    {"every sickness of a channel that a limit rests on", "tests/analysis/judge_verdict_test.cpp",
     "Verdict, EveryStateOfSicknessOfAGradedChannelIsVoid"},
    {"calibration expired", "tests/line/out_of_control_test.cpp",
     "OverdueCalibration, BlocksOrWarnsAsThePolicySays"},
    {"relay command refused", "tests/bench/bench_test.cpp",
     "BenchTest, NamesTheCommandTheDeviceRefused"},
    {"relay does not close", "tests/bench/bench_test.cpp",
     "BenchTest, BreaksOffWhenTheRelayDoesNotClose"},
    {"off is not read back: repeated for ever, latched", "tests/bench/bench_test.cpp",
     "BenchTest, ReportsAMotorThatDoesNotObeyAndRepeatsOff"},
    {"off goes out before any further read", "tests/bench/bench_test.cpp",
     "BenchTest, WritesOffBeforeAnyFurtherReadWhenALimitTrips"},
    {"daemon killed at any instant", "tests/line/kill_test.cpp",
     "KilledDaemon, AtRandomInstantsLosesNoStartAndLeavesNoMotorRunning"},
    {"two daemons on one store", "tests/line/kill_test.cpp",
     "KilledDaemon, ASecondDaemonOnTheSameStoreEndsBusy"},
    {"a thread that hangs is no longer vouched for", "tests/line/heartbeat_test.cpp",
     "Heartbeat, StopsForEverWhenAThreadHangs"},
};

TEST(SensorTableElsewhere, EveryRowHasItsTest) {
  for (const Elsewhere& row : kElsewhere)
    EXPECT_THAT(text_in(fs::path(ENDGATE_SOURCE_DIR) / row.file),
                HasSubstr("(" + std::string(row.test) + ")"))
        << row.row;
}

}  // namespace
}  // namespace endgate::test

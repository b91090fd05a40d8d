// The main job over real sockets: scan, test, verdict, record, replay.

#include "daemon/mapping/replay.h"
#include "schema/verify.h"
#include "tests/line/line_plant.h"

namespace endgate::test {
namespace {

using daemon::LinePhase;
using daemon::LineState;

TEST_F(LinePlant, AUnitIsScannedTestedJudgedAndKept) {
  begin(serial(1));
  const LineState shown = wait_for_verdict();
  ASSERT_TRUE(shown.result);
  const schema::StoreReader store(data());
  const auto kept = store.record_at(shown.result->position);
  ASSERT_TRUE(kept);
  EXPECT_EQ(kept->record.verdict, shown.result->verdict);
  EXPECT_EQ(kept->record.start.serial, serial(1));
  EXPECT_EQ(kept->record.start.attempt, 1);
  EXPECT_EQ(kept->record.start.batch, "48-B2");
  EXPECT_EQ(kept->record.metrics.size(), 12U);
  EXPECT_TRUE(kept->record.simulated);
  EXPECT_TRUE(kept->record.break_off.empty()) << kept->record.break_off;
  const schema::VerifyResult verified = schema::verify(data(), true);
  EXPECT_FALSE(verified.first_bad) << verified.what;
  EXPECT_EQ(verified.traces, 1);
}

TEST_F(LinePlant, AKeptTestIsJudgedAgainBitForBit) {
  begin(serial(2));
  const LineState shown = wait_for_verdict();
  const schema::StoreReader store(data());
  const auto kept = store.record_at(shown.result->position);
  const auto trace = store.trace_of(*kept);
  ASSERT_TRUE(trace);
  const daemon::ReplayResult again = daemon::replay(kept->record, *trace);
  EXPECT_TRUE(again.bit_for_bit);
  EXPECT_TRUE(again.differences.empty()) << again.differences.front();
}

TEST_F(LinePlant, NoVerdictIsShownBeforeItsRecordIsDurable) {
  std::vector<std::string> early;
  look_ = [&](const LineState& state) {
    if (state.phase != LinePhase::verdict) {
      if (state.result)
        early.push_back("a result in phase " + std::to_string(static_cast<int>(state.phase)));
      return;
    }
    const schema::StoreReader store(data());
    if (!store.record_at(state.result->position)) early.push_back("a verdict without its record");
  };
  begin(serial(3));
  wait_for_verdict();
  look_ = nullptr;
  EXPECT_TRUE(early.empty()) << early.front();
}

TEST_F(LinePlant, AFaultyUnitFailsWithItsReason) {
  begin(serial(4), " large_clearance 1");
  const LineState shown = wait_for_verdict();
  EXPECT_EQ(shown.result->verdict, "fail") << shown.result->sentence;
  EXPECT_EQ(shown.result->standing, "reject");
  EXPECT_NE(shown.result->sentence.find("below its limit"), std::string::npos)
      << shown.result->sentence;
}

TEST_F(LinePlant, AMotorThatDoesNotStartFailsTheUnitAndNotTheBench) {
  begin(serial(5), " no_start 1");
  const LineState shown = wait_for_verdict();
  EXPECT_EQ(shown.result->verdict, "fail") << shown.result->sentence;
}

TEST_F(LinePlant, AScanDuringATestChangesNothing) {
  begin(serial(6));
  const auto answer = scan(serial(7));
  EXPECT_EQ(std::get<LineState>(answer).ignored_scan, serial(7));
  EXPECT_EQ(std::get<LineState>(answer).serial, serial(6));
  EXPECT_EQ(wait_for_verdict().serial, serial(6));
  EXPECT_TRUE(schema::StoreReader(data()).records_of(serial(7)).empty());
}

TEST_F(LinePlant, AWrongCheckCharacterIsRefusedWithWhatWasRead) {
  std::string wrong = serial(8);
  wrong.back() = wrong.back() == 'A' ? 'B' : 'A';
  const auto answer = scan(wrong);
  const auto* refusal = std::get_if<daemon::CommandRefusal>(&answer);
  ASSERT_NE(refusal, nullptr);
  EXPECT_NE(refusal->sentence.find(wrong), std::string::npos) << refusal->sentence;
  EXPECT_TRUE(std::holds_alternative<daemon::CommandRefusal>(start()));
}

TEST_F(LinePlant, AJudgedUnitIsTestedAgainOnlyForAReason) {
  begin(serial(9), " large_clearance 1");
  wait_for_verdict();
  const auto scanned = std::get<LineState>(scan(serial(9)));
  EXPECT_EQ(scanned.phase, LinePhase::again);
  EXPECT_EQ(scanned.attempt, 2);
  EXPECT_TRUE(std::holds_alternative<daemon::CommandRefusal>(start()));
  ASSERT_FALSE(scanned.reasons_to_choose.empty());
  const auto started = start(scanned.reasons_to_choose.back());
  ASSERT_TRUE(std::holds_alternative<LineState>(started)) << say(started);
  wait_for_verdict();
  const auto records = schema::StoreReader(data()).records_of(serial(9));
  ASSERT_EQ(records.size(), 2U);
  EXPECT_EQ(records[1].record.start.attempt, 2);
  EXPECT_EQ(records[1].record.start.purpose, "retest");
}

TEST_F(LinePlant, TheNextUnitNeedsNothingButAScanAndAStart) {
  begin(serial(10));
  wait_for_verdict();
  begin(serial(11));
  wait_for([](const LineState& state) {
    return state.phase == LinePhase::verdict && state.serial == serial(11);
  });
  EXPECT_EQ(schema::StoreReader(data()).record_count(), 2);
}

// What else makes a test void: sensor_table_test.cpp.
TEST_F(LinePlant, StopByAPersonGivesVoidAndKeepsWhatWasMeasured) {
  begin(serial(21), " large_clearance 1");
  wait_for_step("hold_800");
  service_->stop("north", "test");
  const LineState shown = wait_for_verdict();
  EXPECT_EQ(shown.result->would_have_been.find("would have failed: "), 0U)
      << "a stop cannot launder a bad unit";
  EXPECT_EQ(shown.result->verdict, "void");
  EXPECT_EQ(shown.result->reasons.front().code, "broken_off_stopped_by_person");
  EXPECT_TRUE(shown.result->kept_samples);
}

TEST_F(LinePlant, ABenchFileThatWasNotAcceptedIsNotUsed) {
  close();
  const fs::path file = config() / "benches/north.toml";
  put_text(file, text_in(file) + "\n# edited\n");
  open();
  const auto state = service_->line("north");
  ASSERT_TRUE(state);
  EXPECT_EQ(state->phase, LinePhase::out_of_use);
  EXPECT_NE(state->message.find("endgate accept"), std::string::npos) << state->message;
  EXPECT_TRUE(std::holds_alternative<daemon::CommandRefusal>(scan(serial(23))));
}

TEST_F(LinePlant, AcceptingTheFileMakesTheBenchReadyWithoutARestart) {
  close();
  const fs::path file = config() / "benches/north.toml";
  put_text(file, text_in(file) + "\n# edited\n");
  open();
  std::promise<void> accepted;
  service_->accept({"north.toml", text_in(file), "test", "edited"}, [&](const auto& answer) {
    EXPECT_TRUE(std::holds_alternative<daemon::Application::Accepted>(answer));
    accepted.set_value();
  });
  accepted.get_future().wait();
  wait_for([](const LineState& state) {
    return state.phase == LinePhase::free && state.live.condition == daemon::BenchCondition::ready;
  });
}

}  // namespace
}  // namespace endgate::test

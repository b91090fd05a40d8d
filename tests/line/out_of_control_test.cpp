// A bench that reads its reference unit wrong, and a calibration that is overdue: end to end, from
// the wire to the refused start and back.

#include <gmock/gmock.h>

#include "daemon/line/enter_check.h"
#include "daemon/line/upkeep_facts.h"
#include "daemon/line/upkeep_policy.h"
#include "tests/line/line_plant.h"

namespace endgate::test {
namespace {

using namespace endgate::daemon;
using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::StartsWith;

const std::string kReferenceSerial = "QH2601-0901-J";  // R1 of bench north in the scenario

class Upkeep : public LinePlant {
 protected:
  using Entered = Application::Entered;

  Entered enter(Application::MakeFact make) {
    std::promise<Entered> answer;
    service_->enter(std::move(make), [&](const Entered& got) { answer.set_value(got); });
    return answer.get_future().get();
  }
  // The record thread works in order: what came before is done.
  void let_records_settle() {
    enter([](schema::StoreWriter&) { return Application::Accepted{}; });
  }
  std::vector<KeptAlarm> open_alarms() {
    let_records_settle();
    return schema::StoreReader(data()).open_alarms();
  }
  void expect_answer(const CommandAnswer& answer, const std::string& code) {
    EXPECT_THAT(say(answer), StartsWith(code));
  }
  void expect_running_until_stopped() {
    const auto started = start();
    ASSERT_TRUE(std::holds_alternative<LineState>(started)) << say(started);
    EXPECT_EQ(std::get<LineState>(started).phase, LinePhase::running);
    service_->stop("north", "test");
    wait_for_verdict();
  }
};

class OutOfControl : public Upkeep {
 protected:
  std::vector<KeptCheck> checks() {
    let_records_settle();
    return schema::StoreReader(data()).bench_checks("north", kReferenceUnit);
  }
  // A void test is no check and is made again, as a person would: at this rate a busy machine holds
  // registers up for long enough to look like a dead sensor.
  schema::BenchCheck test_reference_unit(const std::string& fault = "") {
    const std::size_t before = checks().size();
    std::string verdict = "void", sentence;
    for (int tries = 0; tries < 4 && verdict == "void"; ++tries) {
      clamp(kReferenceSerial + fault);
      std::this_thread::sleep_for(1s);  // the probes leave the warm unit that stood there before
      begin(kReferenceSerial, fault);
      const LineState shown = wait_for_verdict();
      EXPECT_EQ(shown.purpose, "reference");
      verdict = shown.result->verdict;
      sentence = shown.result->sentence;
    }
    const auto after = checks();
    EXPECT_EQ(after.size(), before + 1)
        << "a test of a reference unit is a check of its bench; " << sentence;
    return after.empty() ? schema::BenchCheck{} : after.back().fact;
  }
  // The test just made stands for the three that a level is learned from.
  void learn_from(const schema::BenchCheck& check) {
    enter([&](schema::StoreWriter& writer) {
      for (std::size_t i = 1; i < analysis::kFewestEarlier; ++i) writer.append(check);
      return Application::Accepted{};
    });
  }
  Entered answer_alarm(AlarmStep step) {
    return enter([&](schema::StoreWriter& writer) {
      return enter_alarm_step(writer, data().string(), step);
    });
  }
};

TEST_F(Upkeep, WhatIsBeingDoneIsNotAskedFor) {
  const auto other = std::get<LineState>(scan(serial(117)));
  EXPECT_THAT(other.notices, ElementsAre(HasSubstr("No reference unit was tested")));
  const auto reference = std::get<LineState>(scan(kReferenceSerial));
  EXPECT_THAT(reference.notices, IsEmpty()) << "it stands on the bench";
  EXPECT_EQ(reference.purpose, "reference") << "said before the start";
  EXPECT_EQ(reference.reference_name, "R1");
}

TEST_F(OutOfControl, ABenchThatReadsItsReferenceUnitWrongJudgesNothingUntilAPersonDecides) {
  const schema::BenchCheck first = test_reference_unit();
  EXPECT_EQ(first.outcome, "learning");
  EXPECT_THAT(first.text, testing::HasSubstr("is being learned on bench north: test 1 of 3."));
  EXPECT_EQ(first.subject, kReferenceSerial);
  learn_from(first);

  // Whether the bench has drifted or the reference unit is worn, only a person can find out.
  const schema::BenchCheck wrong = test_reference_unit(" large_clearance 0.5");
  ASSERT_EQ(wrong.outcome, "out_of_control") << wrong.text;
  const LineState said = wait_for(
      [](const LineState& state) { return state.result && !state.result->check_sentence.empty(); });
  EXPECT_EQ(said.result->check_sentence, wrong.text) << "the page says what the bench reads";
  EXPECT_EQ(said.result->check_outcome, "out_of_control");
  const auto alarms = open_alarms();
  ASSERT_EQ(alarms.size(), 1U);
  EXPECT_EQ(alarms[0].fact.code, kAlarmOutOfControl);
  EXPECT_EQ(alarms[0].fact.text, wrong.text);

  const std::string why = say(scan(serial(117)));
  EXPECT_THAT(why, AllOf(StartsWith("B-310"), HasSubstr(wrong.text),
                         HasSubstr("until a person closes the alarm")));
  expect_answer(start(), "B-310");
  EXPECT_TRUE(schema::StoreReader(data()).records_of(serial(117)).empty());
  EXPECT_EQ(std::get<LineState>(scan(kReferenceSerial)).phase, LinePhase::ready)
      << "a reference unit is how the bench is put right";

  const schema::Position opened = opened_by(alarms[0]);
  EXPECT_TRUE(std::holds_alternative<Application::Accepted>(
      answer_alarm({.opened = opened, .state = "owned", .by = "Ada"})));
  expect_answer(scan(serial(117)), "B-310");  // somebody looks after it; it is not decided
  EXPECT_TRUE(std::holds_alternative<CommandRefusal>(
      answer_alarm({.opened = opened, .state = "closed", .by = "Ada", .cause = "worn"})));
  expect_answer(scan(serial(117)), "B-310");

  EXPECT_TRUE(std::holds_alternative<Application::Accepted>(
      answer_alarm({.opened = opened,
                    .state = "closed",
                    .by = "Ada",
                    .cause = "R1 is worn: R2 reads as ever",
                    .action = "R1 taken out"})));
  EXPECT_THAT(open_alarms(), IsEmpty());
  clamp(serial(117));
  EXPECT_EQ(std::get<LineState>(scan(serial(117))).phase, LinePhase::ready);
  expect_running_until_stopped();
  EXPECT_EQ(schema::StoreReader(data()).records_of(serial(117)).size(), 1U);
}

// Scanned while all was well: what counts is how the bench stands when the test begins.
TEST_F(OutOfControl, AUnitScannedBeforeTheAlarmIsNotStartedEither) {
  clamp(serial(118));
  ASSERT_EQ(std::get<LineState>(scan(serial(118))).phase, LinePhase::ready);
  enter([&](schema::StoreWriter& writer) {
    open_alarm(writer, data().string(), "north", kAlarmOutOfControl, "R1 reads 2 % low.");
    return Application::Accepted{};
  });
  expect_answer(start(), "B-310");
  EXPECT_TRUE(schema::StoreReader(data()).starts_without_record().empty());
  EXPECT_EQ(service_->line("north")->phase, LinePhase::refused);
}

TEST_F(OutOfControl, AnAlarmOfAnotherBenchStopsNothingHere) {
  enter([&](schema::StoreWriter& writer) {
    open_alarm(writer, data().string(), "south", kAlarmOutOfControl, "R3 reads 2 % low.");
    return Application::Accepted{};
  });
  clamp(serial(119));
  ASSERT_EQ(std::get<LineState>(scan(serial(119))).phase, LinePhase::ready);
  expect_running_until_stopped();
}

// A stop that comes while the start is still being kept must not be lost on the way.
TEST_F(OutOfControl, AStopWhileTheStartIsBeingKeptNeverSwitchesTheMotorOn) {
  clamp(serial(120));
  scan(serial(120));
  std::promise<void> go_on;
  service_->enter(
      [&](schema::StoreWriter&) {  // the disk is slow
        go_on.get_future().wait();
        return Application::Accepted{};
      },
      [](const Entered&) {});
  std::promise<CommandAnswer> started;
  service_->start({"north", ""}, [&](CommandAnswer got) { started.set_value(std::move(got)); });
  service_->stop("north", "Ada");
  std::promise<void> stop_arrived;  // behind it on the same thread
  service_->clear("north", "test", [&](const CommandAnswer&) { stop_arrived.set_value(); });
  stop_arrived.get_future().wait();
  bool motor_ran = false;
  look_ = [&](const LineState& state) {
    motor_ran |= state.live.interlocks.motor_relay_closed.value_or(false);
  };
  go_on.set_value();
  started.get_future().wait();
  const LineState shown = wait_for_verdict();
  EXPECT_EQ(shown.result->verdict, "void");
  EXPECT_EQ(shown.result->reasons.front().code, "broken_off_stopped_by_person");
  EXPECT_THAT(shown.result->sentence, HasSubstr("topped by Ada"));
  let_records_settle();
  look_ = nullptr;
  EXPECT_FALSE(motor_ran);
  EXPECT_TRUE(schema::StoreReader(data()).starts_without_record().empty());
}

class OverdueCalibration : public Upkeep {
 protected:
  void edit_config() override { due_on("2020-01-31"); }
  void due_on(const std::string& day) {
    const fs::path file = config() / "calibrations/north.toml";
    std::string text = text_in(file);
    const std::string channel = "[[channel]]\n";
    const std::size_t at = text.find(channel) + channel.size();
    const bool dated = text.compare(at, 4, "due ") == 0;
    text.replace(at, dated ? text.find('\n', at) + 1 - at : 0, "due = \"" + day + "\"\n");
    put_text(file, text);
  }
  void run_with(UpkeepAnswer policy) {
    close();
    upkeep_.overdue_calibration = policy;
    open();
  }
};

TEST_F(OverdueCalibration, BlocksOrWarnsAsThePolicySays) {
  run_with(UpkeepAnswer::block);
  clamp(serial(121));
  EXPECT_THAT(say(scan(serial(121))), AllOf(StartsWith("B-312"), HasSubstr("2020-01-31")));
  expect_answer(start(), "B-312");
  ASSERT_EQ(open_alarms().size(), 1U);
  EXPECT_EQ(open_alarms()[0].fact.code, kAlarmCalibration);

  run_with(UpkeepAnswer::warn);
  const auto warned = std::get<LineState>(scan(serial(121)));
  EXPECT_EQ(warned.phase, LinePhase::ready);
  EXPECT_THAT(warned.notices, testing::Contains(HasSubstr("2020-01-31")));
  expect_running_until_stopped();
  EXPECT_EQ(open_alarms().size(), 1U) << "one trouble is one alarm";
}

// What an earlier outcome asks does not push it off the page.
TEST_F(OverdueCalibration, IsSaidForAUnitThatIsTestedAgainToo) {
  run_with(UpkeepAnswer::warn);
  begin(serial(123), " no_start 1");
  EXPECT_EQ(wait_for_verdict().result->verdict, "fail");
  const auto again = std::get<LineState>(scan(serial(123)));
  EXPECT_EQ(again.phase, LinePhase::again);
  EXPECT_THAT(again.notices, testing::Contains(HasSubstr("2020-01-31")));
}

// Scanned while nothing was due: what counts is what is due when the test begins.
TEST_F(OverdueCalibration, ACheckThatBecomesDueAfterTheScanRefusesTheStart) {
  close();
  upkeep_.overdue_calibration = UpkeepAnswer::ignore;
  upkeep_.overdue_check = UpkeepAnswer::block;
  open();
  clamp(serial(124));
  ASSERT_EQ(std::get<LineState>(scan(serial(124))).phase, LinePhase::ready);
  enter([](schema::StoreWriter& writer) {
    schema::BenchCheck old{.bench = "north", .kind = "flow_nozzle"};
    old.outcome = "in_control";
    old.at.utc_ms = 1'577'836'800'000;  // 2020-01-01
    writer.append(old);
    return Application::Accepted{};
  });
  expect_answer(start(), "B-313");
  EXPECT_EQ(service_->line("north")->phase, LinePhase::refused);
  EXPECT_TRUE(schema::StoreReader(data()).starts_without_record().empty());
  ASSERT_EQ(open_alarms().size(), 1U);
  EXPECT_EQ(open_alarms()[0].fact.code, kAlarmCheck);
}

TEST_F(OverdueCalibration, IsOverWithANewCalibrationWithoutARestart) {
  run_with(UpkeepAnswer::block);
  expect_answer(scan(serial(122)), "B-312");
  due_on("2999-12-31");
  std::promise<void> accepted;
  service_->accept({"north.toml", text_in(config() / "calibrations/north.toml"), "Ada", "new"},
                   [&](const auto& answer) {
                     EXPECT_TRUE(std::holds_alternative<Application::Accepted>(answer));
                     accepted.set_value();
                   });
  accepted.get_future().wait();
  wait_for([](const LineState& state) {
    return state.phase == LinePhase::free && state.live.condition == BenchCondition::ready;
  });
  EXPECT_EQ(std::get<LineState>(scan(serial(122))).phase, LinePhase::ready);
}

}  // namespace
}  // namespace endgate::test

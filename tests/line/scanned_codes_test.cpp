// What the codes of the printed test card do, and what is looked at once more when a unit starts.

#include <gmock/gmock.h>

#include "tests/line/line_plant.h"

namespace endgate::test {
namespace {

using daemon::CommandRefusal;
using daemon::LinePhase;
using daemon::LineState;
using testing::AllOf;
using testing::HasSubstr;

class ScannedCodes : public LinePlant {
 protected:
  LineState scanned(const std::string& code) {
    const auto answer = scan(code);
    EXPECT_TRUE(std::holds_alternative<LineState>(answer)) << say(answer);
    const auto* state = std::get_if<LineState>(&answer);
    return state == nullptr ? LineState{} : *state;
  }
  // By a person at another page, while a unit waits for its start.
  template <class Fact>
  void keep(const Fact& fact) {
    std::promise<void> kept;
    service_->enter(
        [fact](schema::StoreWriter& writer) -> daemon::Application::Entered {
          writer.append(fact);
          return daemon::Application::Accepted{};
        },
        [&](const auto&) { kept.set_value(); });
    kept.get_future().wait();
  }
  void accept_with_a_remark(const std::string& file) {
    const fs::path path = config() / file;
    std::promise<void> accepted;
    service_->accept(
        {path.filename().string(), text_in(path) + "\n# a remark\n", "Ada", "test", "Grace"},
        [&](const daemon::Application::Entered& answer) {
          const auto* refusal = std::get_if<CommandRefusal>(&answer);
          EXPECT_EQ(refusal, nullptr) << refusal->sentence;
          accepted.set_value();
        });
    accepted.get_future().wait();
  }
};

TEST_F(ScannedCodes, StartAndStopATest) {
  clamp(serial(220));
  EXPECT_THAT(say(scan("EG-START")), HasSubstr("U-111"));
  scanned(serial(220));
  EXPECT_EQ(scanned("EG-START").phase, LinePhase::running);
  EXPECT_THAT(say(scan("EG-CANCEL")), HasSubstr("U-103"));
  scanned("EG-STOP");
  const LineState shown = wait_for_verdict();
  EXPECT_EQ(shown.result->reasons.front().code, "broken_off_stopped_by_person");
  EXPECT_THAT(shown.result->sentence, HasSubstr("scanner"));
}

TEST_F(ScannedCodes, CancelForgetsTheUnit) {
  scanned(serial(221));
  const LineState shown = scanned("EG-CANCEL");
  EXPECT_EQ(shown.phase, LinePhase::free);
  EXPECT_EQ(shown.serial, "");
  EXPECT_THAT(say(scan("EG-START")), HasSubstr("U-111"));
}

TEST_F(ScannedCodes, AReasonIsChosenByItsNumber) {
  EXPECT_THAT(say(scan("EG-R1")), HasSubstr("U-103"));
  begin(serial(222));
  scanned("EG-STOP");
  wait_for_verdict();
  scanned(serial(222));  // void: tested again without a reason
  EXPECT_EQ(scanned("EG-CANCEL").phase, LinePhase::free);
  begin(serial(223), " large_clearance 1");
  wait_for([](const LineState& state) {
    return state.phase == LinePhase::verdict && state.serial == serial(223);
  });
  const LineState again = scanned(serial(223));
  ASSERT_EQ(again.phase, LinePhase::again);
  EXPECT_THAT(say(scan("EG-R9")), HasSubstr("U-104"));
  EXPECT_THAT(say(scan("EG-R0")), HasSubstr("U-104"));
  const auto last = std::to_string(again.reasons_to_choose.size());
  const LineState shown = scanned("EG-R" + last);
  EXPECT_EQ(shown.phase, LinePhase::running);
  EXPECT_EQ(shown.retest_reason, again.reasons_to_choose.back());
  scanned("EG-STOP");
}

TEST_F(ScannedCodes, AnEntryBetweenScanAndStartAsksForAnotherScan) {
  begin(serial(224));
  scanned("EG-STOP");
  wait_for_verdict();
  scanned(serial(224));
  keep(schema::Repair{.serial = serial(224), .finding = "reed", .parts = "reed", .by = "Ada"});
  EXPECT_THAT(say(start()), AllOf(HasSubstr("U-114"), HasSubstr("Scan it again")));
  scanned(serial(224));
  EXPECT_TRUE(std::holds_alternative<LineState>(start()));
}

TEST_F(ScannedCodes, AcceptedTextsBetweenScanAndStartAskForAnotherScan) {
  clamp(serial(225));
  for (const std::string kind : {"limits", "corrections", "models"}) {
    scanned(serial(225));
    accept_with_a_remark(kind + "/P1-60-12.toml");
    if (kind == "models") {  // the file on the disk must say the same
      const fs::path file = config() / "models/P1-60-12.toml";
      EXPECT_THAT(say(start()), AllOf(HasSubstr("U-114"), HasSubstr("not ready")));
      continue;
    }
    EXPECT_THAT(say(start()), AllOf(HasSubstr("U-114"), HasSubstr(kind + " P1-60-12@2"),
                                    HasSubstr("Scan it again")));
    EXPECT_TRUE(schema::StoreReader(data()).starts_without_record().empty());
  }
}

// The bench file is accepted while the start fact waits for the disk: that test ends by the old
// text, and only then the bench is set up anew.
TEST_F(ScannedCodes, ABenchIsNotReplacedUnderAStartThatIsBeingKept) {
  clamp(serial(226));
  scanned(serial(226));
  std::promise<void> held, release;
  service_->enter(
      [&](schema::StoreWriter&) -> daemon::Application::Entered {
        held.set_value();
        release.get_future().wait();
        return daemon::Application::Accepted{};
      },
      [](const auto&) {});
  held.get_future().wait();
  const fs::path file = config() / "benches/north.toml";
  put_text(file, text_in(file) + "\n# a remark\n");
  std::promise<void> accepted;
  service_->accept({"north.toml", text_in(file), "Ada", "test"},
                   [&](const auto&) { accepted.set_value(); });
  std::promise<daemon::CommandAnswer> started;
  service_->start({"north", ""}, [&](auto answer) { started.set_value(std::move(answer)); });
  scan("EG-NOTHING");  // answered behind the start on the same thread
  release.set_value();
  accepted.get_future().wait();
  const auto answer = started.get_future().get();
  ASSERT_TRUE(std::holds_alternative<LineState>(answer)) << say(answer);
  const LineState shown = wait_for_verdict();
  EXPECT_NE(shown.result->verdict, "void") << shown.result->sentence;
  const auto kept = schema::StoreReader(data()).record_at(shown.result->position);
  EXPECT_THAT(kept->record.context_ids, testing::Contains("bench north@1"));
}

}  // namespace
}  // namespace endgate::test

// A unit goes through an accepted lab trial on the whole plant.

#include <gmock/gmock.h>

#include "daemon/mapping/replay.h"
#include "daemon/mapping/trace_of.h"
#include "daemon/mapping/trace_pieces.h"
#include "schema/verify.h"
#include "tests/line/line_plant.h"

namespace endgate::test {
namespace {

using daemon::CommandRefusal;
using daemon::LineState;
using ::testing::HasSubstr;

// The half hours of the scenario, in seconds: two turns, a piece every ten seconds.
std::string short_trial(std::string text, const std::string& times = "2") {
  const auto set = [&](const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    ASSERT_NE(at, std::string::npos) << from;
    text.replace(at, from.size(), to);
  };
  set("duration_s = 1799.5", "duration_s = 20");
  set("duration_s = 1800", "duration_s = 12");
  set("piece_s = 300", "piece_s = 10");
  set("keep_every_s = 1 ", "keep_every_s = 0.5 ");
  set("times = 12", "times = " + times);
  set("steady_role = \"case_temperature\"\nsteady_within_si = 0.5", "");
  return text;
}

class LabTrial : public LinePlant {
 protected:
  void edit_config() override { put_text(file(), short_trial(text_in(file()))); }
  [[nodiscard]] fs::path file() const { return config() / "trials/half-hour-duty.toml"; }

  // Running numbers from 1000 on are model P1-20-12.
  daemon::CommandAnswer start_trial(const std::string& unit,
                                    const std::string& trial = "half-hour-duty") {
    clamp(unit);
    const auto scanned = scan(unit);
    EXPECT_TRUE(std::holds_alternative<LineState>(scanned)) << say(scanned);
    std::promise<daemon::CommandAnswer> answer;
    service_->start({.bench = "north", .reason = "", .trial = trial},
                    [&](daemon::CommandAnswer got) { answer.set_value(std::move(got)); });
    return answer.get_future().get();
  }
  void accept_again(const std::string& text) {
    std::promise<bool> accepted;
    service_->accept({"half-hour-duty.toml", text, "test", "fewer turns"}, [&](auto answer) {
      accepted.set_value(std::holds_alternative<daemon::Application::Accepted>(answer));
    });
    EXPECT_TRUE(accepted.get_future().get());
  }
};

TEST_F(LabTrial, RunsAsItWasAcceptedAndKeepsDigestAndPieces) {
  const auto started = start_trial(serial(1001));
  ASSERT_TRUE(std::holds_alternative<LineState>(started)) << say(started);
  EXPECT_EQ(std::get<LineState>(started).purpose, "lab");
  accept_again(short_trial(
      text_in(fs::path(ENDGATE_SOURCE_DIR) / "fixtures/scenario/trials/half-hour-duty.toml"), "1"));
  wait_for([](const LineState& state) {
    const bool in_turn = state.message.ends_with("Turn 1.");
    return in_turn && state.live.step && state.live.step->motor_will_run;
  });
  const LineState shown = wait_for_verdict();
  ASSERT_TRUE(shown.result);
  const schema::StoreReader store(data());
  const auto kept = store.record_at(shown.result->position);
  ASSERT_TRUE(kept);
  EXPECT_TRUE(kept->record.break_off.empty()) << kept->record.break_off;
  EXPECT_EQ(kept->record.start.purpose, "lab");
  EXPECT_EQ(kept->record.start.reason, "trial half-hour-duty@1");
  EXPECT_EQ(kept->record.metrics.size(), 4U);
  const auto digest = store.trace_of(*kept);
  ASSERT_TRUE(digest);
  EXPECT_EQ(daemon::raw_trace_of(*digest).steps.size(), 8U);
  const auto pieces = daemon::pieces_named_in(*digest);
  EXPECT_GE(pieces.size(), 6U);
  schema::TraceReader reader(data());
  std::size_t steps = 0;
  for (const daemon::TracePiece& each : pieces) {
    const auto piece = daemon::read_piece(reader, kept->record.start_position, each);
    ASSERT_TRUE(piece);
    steps += piece->steps.size();
  }
  EXPECT_EQ(steps, 8U);
  EXPECT_TRUE(daemon::replay(kept->record, *digest).bit_for_bit);
  EXPECT_FALSE(schema::verify(data(), true).first_bad);
}

TEST_F(LabTrial, ATrialThatIsNotAcceptedOrOfAnotherModelIsRefused) {
  const auto unknown = start_trial(serial(1002), "whole_day");
  ASSERT_TRUE(std::holds_alternative<CommandRefusal>(unknown));
  EXPECT_THAT(say(unknown), HasSubstr("U-115 There is no accepted trial \"whole_day\""));
  const auto other = start_trial(serial(2));
  EXPECT_THAT(say(other), HasSubstr("is of model P1-20-12, not of P1-60-12"));
}

TEST_F(LabTrial, ATrialThatWasRefusedIsNotWhatTheNextStartMeans) {
  hand("cover open");
  wait_for([](const LineState& state) {
    return state.live.interlocks.cover_closed == std::optional(false);
  });
  EXPECT_THAT(say(start_trial(serial(1005))), HasSubstr("B-212"));
  hand("cover closed");
  wait_for([](const LineState& state) {
    return state.live.interlocks.cover_closed == std::optional(true);
  });
  const auto started = start();
  ASSERT_TRUE(std::holds_alternative<LineState>(started)) << say(started);
  EXPECT_EQ(std::get<LineState>(started).purpose, "production");
  service_->stop("north", "Ada");
  wait_for_verdict();
}

TEST_F(LabTrial, StopInARestEndsItVoidWithItsPieces) {
  ASSERT_TRUE(std::holds_alternative<LineState>(start_trial(serial(1003))));
  wait_for_step("off");
  service_->stop("north", "Ada");
  const LineState shown = wait_for_verdict();
  EXPECT_EQ(shown.result->verdict, "void");
  const schema::StoreReader store(data());
  const auto kept = store.record_at(shown.result->position);
  EXPECT_EQ(kept->record.break_off, "stopped_by_person");
  EXPECT_GE(daemon::pieces_named_in(*store.trace_of(*kept)).size(), 2U);
}

TEST_F(LabTrial, ATestOfTheProductionAfterItIsAFirstTest) {
  ASSERT_TRUE(std::holds_alternative<LineState>(start_trial(serial(1004))));
  wait_for_step("on");
  service_->stop("north", "Ada");
  wait_for_verdict();
  const auto scanned = scan(serial(1004));
  ASSERT_TRUE(std::holds_alternative<LineState>(scanned)) << say(scanned);
  EXPECT_EQ(std::get<LineState>(scanned).phase, daemon::LinePhase::ready);
  const auto started = start();
  ASSERT_TRUE(std::holds_alternative<LineState>(started)) << say(started);
  wait_for_step("hold_0");
  service_->stop("north", "Ada");
  wait_for_verdict();
  const auto records = schema::StoreReader(data()).records_of(serial(1004));
  ASSERT_EQ(records.size(), 2U);
  EXPECT_NE(records[1].record.start.purpose, "lab");
}

}  // namespace
}  // namespace endgate::test

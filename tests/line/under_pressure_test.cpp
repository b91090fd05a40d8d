// A unit that was not seen vented after its verdict: said, kept as an alarm, and no next start.

#include <gmock/gmock.h>

#include "daemon/line/upkeep_policy.h"
#include "daemon/views/line_view.h"
#include "tests/line/line_plant.h"

namespace endgate::test {
namespace {

using namespace endgate::daemon;
using testing::HasSubstr;

class UnderPressure : public LinePlant {
 protected:
  // The sensor reads 100 kPa more from the seal test on, so that the vent never shows an end.
  LineState run_without_a_vent_that_is_seen() {
    begin(serial(60));
    wait_for_step("vent");
    hand("channel discharge_pressure offset 100000");
    wait_for([](const LineState& s) { return s.live.may_be_under_pressure; });
    return wait_for_verdict();
  }
  bool alarm_is_open() {
    std::promise<bool> open;
    service_->enter(
        [&](schema::StoreWriter&) -> Application::Entered {
          bool found = false;
          for (const auto& alarm : schema::StoreReader(data()).open_alarms())
            found = found || alarm.fact.code == kAlarmPressure;
          open.set_value(found);
          return Application::Accepted{};
        },
        [](const auto&) {});
    return open.get_future().get();
  }
};

TEST_F(UnderPressure, StartsNothingUntilThePressureIsSeenGone) {
  const LineState shown = run_without_a_vent_that_is_seen();
  ASSERT_TRUE(shown.result);
  EXPECT_EQ(line_view_of(shown).next, "Do not touch the unit or its hoses. Call maintenance.");
  EXPECT_TRUE(alarm_is_open());
  EXPECT_FALSE(service_->health().ready);
  clamp(serial(61));
  scan(serial(61));
  EXPECT_THAT(say(start()), HasSubstr("B-217"));
  hand("channel discharge_pressure good");
  wait_for([](const LineState& s) { return !s.live.may_be_under_pressure; });
  EXPECT_FALSE(alarm_is_open());
  EXPECT_TRUE(std::holds_alternative<LineState>(start()));
}

TEST_F(UnderPressure, ANamedPersonClearsItAndARestartDoesNot) {
  run_without_a_vent_that_is_seen();
  close();
  open();
  EXPECT_TRUE(service_->line("north")->live.may_be_under_pressure);
  EXPECT_THAT(say(clear("")), HasSubstr("U-117"));
  EXPECT_TRUE(std::holds_alternative<LineState>(clear("Ada")));
  wait_for([](const LineState& s) { return !s.live.may_be_under_pressure; });
  EXPECT_FALSE(alarm_is_open());
  const auto alarms = schema::StoreReader(data()).open_alarms();
  EXPECT_TRUE(alarms.empty());
}

}  // namespace
}  // namespace endgate::test

// A service that ended during a test: what became of the unit is said where it still stands.

#include <gmock/gmock.h>

#include "daemon/views/line_view.h"
#include "tests/line/line_plant.h"

namespace endgate::test {
namespace {

using daemon::LinePhase;
using daemon::LineState;

class LeftBehind : public LinePlant {
 protected:
  // A start without its record: as a power cut leaves it.
  void end_during_a_test_of(const std::string& unit) {
    close();
    schema::StoreWriter(data()).append(schema::TestStart{.serial = unit,
                                                         .attempt = 1,
                                                         .model = "P1-60-12",
                                                         .bench = "north",
                                                         .batch = "48-B2",
                                                         .purpose = "production"});
    open();
  }
  // Found by a thread of its own, and shown once the bench is heard.
  LineState wait_for_the_unit() {
    return wait_for([](const LineState& state) {
      return state.phase == LinePhase::verdict &&
             state.live.condition == daemon::BenchCondition::ready;
    });
  }
};

TEST_F(LeftBehind, AUnitWhoseTestTheEndOfTheServiceBrokeOffIsShownAsVoid) {
  end_during_a_test_of(serial(31));
  const reports::LineView view = daemon::line_view_of(wait_for_the_unit());
  EXPECT_EQ(view.word, "VOID");
  EXPECT_EQ(view.serial, serial(31));
  EXPECT_EQ(view.next, "Check the hoses. Scan the serial again.");
  EXPECT_EQ(view.sentence.find("The service ended during this test"), 0U) << view.sentence;

  const auto again = std::get<LineState>(scan(serial(31)));
  EXPECT_EQ(again.phase, LinePhase::ready);
  EXPECT_EQ(again.attempt, 2);
  EXPECT_EQ(again.purpose, "retest");
  EXPECT_EQ(again.earlier.find("Not judged on "), 0U) << again.earlier;
  EXPECT_EQ(std::get<LineState>(scan("EG-CANCEL")).phase, LinePhase::free) << "it was seen to";
}

TEST_F(LeftBehind, IsOverWithTheNextTestThere) {
  end_during_a_test_of(serial(32));
  wait_for_the_unit();
  begin(serial(33));
  service_->stop("north", "test");
  wait_for([](const LineState& state) {
    return state.phase == LinePhase::verdict && state.serial == serial(33);
  });
  close();
  open();
  EXPECT_EQ(wait_for([](const LineState& state) {
              return state.live.condition == daemon::BenchCondition::ready;
            }).phase,
            LinePhase::free);
}

}  // namespace
}  // namespace endgate::test

// endgate calibrate, check-bench and alarms as a maintainer gives them.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>

#include "schema/store.h"
#include "tests/cli/command.h"
#include "tests/cli/stub_daemon.h"

namespace endgate {
namespace {

using test::Ended;
using testing::HasSubstr;

class Upkeep : public testing::Test {
 protected:
  Upkeep() {
    EXPECT_EQ(test::endgate({"accept", scenario_.path(), "--by", "Ada", "--why", "set-up"}).status,
              0);
    std::ofstream(scenario_.path("points.csv"))
        << "reading_si,reference_si,u_reference_si\n0,0,20\n200000,201000,20\n400000,402000,20\n"
           "600000,603000,20\n800000,804000,20\n";
  }
  Ended calibrate(const std::string& channel = "discharge_pressure",
                  const std::string& due = "2027-02-14") {
    return test::endgate({"calibrate", "north", channel, "--points", scenario_.path("points.csv"),
                          "--by", "Ada", "--due", due, "--yes", "--config", scenario_.path()});
  }
  Ended check(std::vector<std::string> words) {
    words.insert(words.begin(), {"check-bench", "north"});
    words.insert(words.end(), {"--by", "Ada", "--config", scenario_.path()});
    return test::endgate(words);
  }
  Ended alarms(std::vector<std::string> words = {}) {
    words.insert(words.begin(), "alarms");
    words.insert(words.end(), {"--config", scenario_.path()});
    return test::endgate(words);
  }
  schema::Definition calibration() {
    return *schema::StoreReader(scenario_.path("data")).current_definition("calibration", "north");
  }

  test::ScenarioCopy scenario_;
};

TEST_F(Upkeep, ACalibrationIsShownAgainstTheOneInForceAndBecomesItsNextVersion) {
  const Ended ended = calibrate();
  EXPECT_EQ(ended.status, 0) << ended.err;
  EXPECT_THAT(ended.err, HasSubstr("in force"));
  EXPECT_THAT(ended.err, HasSubstr("1.005"));
  EXPECT_EQ(calibration().version, 2);
  EXPECT_THAT(calibration().text, HasSubstr("gain = 1.005"));
  EXPECT_THAT(calibration().why, HasSubstr("calibration of discharge_pressure, 5 points"));
  EXPECT_EQ(scenario_.read("calibrations/north.toml"), calibration().text) << "the file follows";
}

TEST_F(Upkeep, AFolderWhoseFileIsBehindDoesNotTakeACalibrationBack) {
  const std::string before = scenario_.read("calibrations/north.toml");
  ASSERT_EQ(calibrate().status, 0);
  std::ofstream(scenario_.path("calibrations/north.toml")) << before;
  const Ended again = test::endgate({"accept", scenario_.path(), "--by", "Ada", "--why", "again"});
  ASSERT_EQ(again.status, 0);
  EXPECT_THAT(again.err, HasSubstr("north.toml: says an older version"));
  EXPECT_EQ(calibration().version, 2);
}

TEST_F(Upkeep, AWrongCalibrationChangesNothing) {
  EXPECT_EQ(calibrate("pressure").status, 2);
  EXPECT_EQ(calibrate("discharge_pressure", "soon").status, 2);
  const Ended other_unit = calibrate("flow");
  EXPECT_EQ(other_unit.status, 2);
  EXPECT_THAT(other_unit.err, HasSubstr("The reference of point 2 says 2.01e+05 m3/s, and flow"));
  std::ofstream(scenario_.path("points.csv")) << "reading_kpa,reference_kpa,u\n0,0,1\n";
  EXPECT_THAT(calibrate().err, HasSubstr("expected the heading reading_si"));
  EXPECT_EQ(calibration().version, 1);
}

TEST_F(Upkeep, ACheckOutOfControlOpensAnAlarmThatIsClosedWithCauseAndAction) {
  const std::vector<std::string> volume{"receiver_volume",
                                        "--subject",
                                        "small",
                                        "reference_volume_m3=1e-3",
                                        "reference_abs_pa=6e5",
                                        "receiver_abs_pa=1e5",
                                        "final_abs_pa=3e5",
                                        "u_reference_rel=1e-3",
                                        "u_pressure_pa=50"};
  const Ended ended = check(volume);
  EXPECT_EQ(ended.status, 1) << ended.err;
  EXPECT_THAT(ended.out, HasSubstr("out_of_control: Volume of the receiver"));
  const Ended listed = alarms();
  EXPECT_EQ(listed.status, 1);
  EXPECT_THAT(listed.out, HasSubstr("check_out_of_control"));
  const std::string number =
      std::to_string(schema::StoreReader(scenario_.path("data")).open_alarms().front().position);
  EXPECT_EQ(alarms({"--close", number, "--by", "Ada"}).status, 2) << "no cause, no action";
  EXPECT_EQ(alarms({"--close", "99999", "--by", "Ada", "--cause", "a", "--action", "b"}).status, 1);
  EXPECT_EQ(alarms({"--take", number, "--by", "Bea"}).status, 0);
  EXPECT_EQ(
      alarms({"--close", number, "--by", "Bea", "--cause", "wet", "--action", "drained"}).status,
      0);
  EXPECT_EQ(alarms().status, 0);
}

TEST_F(Upkeep, ACheckGoesThroughTheDaemonThatOwnsTheStore) {
  test::StubDaemon daemon(200, R"({"accepted":"in_control: fine"})");
  scenario_.replace("service.toml", "listen_port = 8640",
                    "listen_port = " + std::to_string(daemon.port()));
  const schema::StoreWriter owner(scenario_.path("data"));
  EXPECT_EQ(check({"wear_part", "--subject", "coupling"}).out, "in_control: fine\n");
  EXPECT_THAT(daemon.request(), HasSubstr("POST /api/v1/benches/north/checks"));
}

TEST_F(Upkeep, ABenchIsTakenOverThroughTheServiceByNameAndReason) {
  const auto take = [&](std::vector<std::string> more) {
    std::vector<std::string> words{"take", "north", "--config", scenario_.path()};
    words.insert(words.end(), more.begin(), more.end());
    return test::endgate(words);
  };
  EXPECT_EQ(take({"--by", "Ada"}).status, 2) << "without a reason";
  test::StubDaemon daemon(
      200, R"({"accepted":"bench north is given free; it is claimed anew within seconds"})");
  scenario_.replace("service.toml", "listen_port = 8640",
                    "listen_port = " + std::to_string(daemon.port()));
  EXPECT_EQ(take({"--by", "Ada", "--why", "its PC is scrapped"}).status, 0);
  EXPECT_THAT(daemon.request(), HasSubstr("POST /api/v1/benches/north/take"));
}

}  // namespace
}  // namespace endgate

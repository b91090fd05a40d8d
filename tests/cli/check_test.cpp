#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/cli/command.h"

namespace endgate {
namespace {

using test::Ended;
using testing::HasSubstr;
using testing::Not;

Ended check(const test::ScenarioCopy& scenario) {
  return test::endgate({"check", "--config", scenario.path()});
}

TEST(Check, TheScenarioIsRightAndEveryModelCanBeTested) {
  const test::ScenarioCopy scenario;
  const Ended ended = check(scenario);
  EXPECT_EQ(ended.status, 0) << ended.err;
  EXPECT_THAT(ended.out, HasSubstr("22 files are right\n"));
  EXPECT_THAT(ended.out, HasSubstr("bench north: lease, read-backs, cover, emergency stop, owner "
                                   "word and clock are all there\n"));
  EXPECT_THAT(ended.out, HasSubstr("model P2-120-24 on bench south: can be tested\n"));
}

TEST(Check, AFolderThatIsNotThereIsNamed) {
  const Ended ended = test::endgate({"check", "--config", "no/such/folder"});
  EXPECT_EQ(ended.status, 3);
  EXPECT_THAT(ended.err, HasSubstr("no/such/folder"));
  EXPECT_THAT(ended.err, HasSubstr("expected a folder with service.toml"));
}

TEST(Check, AWrongFileIsToldWithItsPlaceAndNothingElse) {
  const test::ScenarioCopy scenario;
  scenario.replace("benches/north.toml", "tick_s = 0.001", "tick_s = inf");
  const Ended ended = check(scenario);
  EXPECT_EQ(ended.status, 3);
  EXPECT_EQ(ended.out, "");
  EXPECT_THAT(ended.err, testing::MatchesRegex("benches/north.toml:[0-9]+:10 clock.tick_s: "
                                               "expected a finite number above 0, found inf or "
                                               "nan\n"));
}

TEST(Check, SaysWhatARecordedRunLacks) {
  namespace fs = std::filesystem;
  const test::ScenarioCopy scenario;
  fs::copy(fs::path(ENDGATE_SOURCE_DIR) / "fixtures/examples/benches/recorded_run.toml",
           scenario.path("benches/recorded.toml"));
  const Ended without = check(scenario);
  EXPECT_EQ(without.status, 1);
  EXPECT_THAT(without.out, HasSubstr("benches/run.csv cannot be played: it cannot be read"));
  std::ofstream(scenario.path("benches/run.csv")) << "time_s,flow,set_motor_relay\n0,1,0\n";
  EXPECT_THAT(check(scenario).out,
              HasSubstr("run.csv cannot be played: it has no column discharge_pressure, "));
}

TEST(Check, TwoChannelsThatReadOneRegisterAreNoted) {
  const test::ScenarioCopy scenario;
  scenario.replace("benches/north.toml", "address = 4\ntype = \"u16\"",
                   "address = 3\ntype = \"u16\"");
  const Ended ended = check(scenario);
  EXPECT_EQ(ended.status, 3);
  EXPECT_THAT(ended.err, HasSubstr("\"flow\" reads what \"discharge_pressure\" reads"));
}

TEST(Check, FilesThatContradictEachOtherAreWrongThoughEachIsRight) {
  const auto told = [](const char* file, const char* from, const char* to) {
    const test::ScenarioCopy scenario;
    scenario.replace(file, from, to);
    const Ended ended = check(scenario);
    EXPECT_EQ(ended.status, 3) << to;
    return ended.err;
  };
  EXPECT_THAT(told("benches/south.toml", "port = 15021", "port = 15020"),
              HasSubstr("benches/south.toml device: expected a device that no other bench uses; "
                        "127.0.0.1:15020, unit 1 stands in benches/north.toml too"));
  EXPECT_THAT(told("benches/south.toml", "owner_word = 20002", "owner_word = 20001"),
              HasSubstr("owner_word: expected a word of its own for each bench"));
  EXPECT_THAT(told("benches/south.toml", "host = \"127.0.0.1\"", "host = \"bench south\""),
              HasSubstr("expected a host name or an address, found \"bench south\""));
  EXPECT_THAT(told("models/P1-20-12.toml", "-1[0-9]{3}-", "-[0-1][0-9]{3}-"),
              HasSubstr("serial_pattern: expected a pattern that no serial of another model fits"));
}

TEST(Check, TellsWhatIsRightButNotInForce) {
  const test::ScenarioCopy scenario;
  EXPECT_THAT(check(scenario).out, HasSubstr("nothing is accepted yet: endgate accept "));
  ASSERT_EQ(test::endgate({"accept", scenario.path(), "--by", "Ada", "--why", "set-up"}).status, 0);
  EXPECT_THAT(check(scenario).out, Not(HasSubstr("accept")));
  scenario.replace("models/P1-60-12.toml", "kind = \"model\"", "kind = \"model\"  # changed");
  EXPECT_THAT(check(scenario).out, HasSubstr("not the text accepted last, so not in force"));
  EXPECT_THAT(check(scenario).out, HasSubstr("models/P1-60-12.toml"));
}

TEST(Check, ABenchWithoutLeaseIsRightButSaysWhatIsNotPromised) {
  const test::ScenarioCopy scenario;
  scenario.replace("benches/north.toml",
                   "[lease]\nactuator = \"lease\"\nperiod_ms = 150\nlapses_after_ms = 500\n", "");
  const Ended ended = check(scenario);
  EXPECT_EQ(ended.status, 0) << ended.err;
  EXPECT_THAT(ended.out, HasSubstr("bench north: not promised:\n  No lease: "));
}

TEST(Check, AModelThatFitsNoBenchIsNegative) {
  const test::ScenarioCopy scenario;
  for (const char* bench : {"benches/north.toml", "benches/south.toml"})
    scenario.replace(bench, "supply_voltages_v = [13.5, 27.0]", "supply_voltages_v = [27]");
  const Ended ended = check(scenario);
  EXPECT_EQ(ended.status, 1);
  EXPECT_THAT(ended.out, HasSubstr("model P1-60-12 on bench north: cannot be tested\n  model "
                                   "P1-60-12 on bench north: 13.5 V is not among"));
}

}  // namespace
}  // namespace endgate

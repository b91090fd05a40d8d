#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "schema/store.h"
#include "tests/cli/command.h"
#include "tests/cli/stub_daemon.h"

namespace endgate {
namespace {

using test::Ended;
using testing::HasSubstr;
using testing::IsEmpty;

Ended accept(const test::ScenarioCopy& scenario, const std::string& file = "",
             const std::string& second = "Bo") {
  return test::endgate({"accept", scenario.path(file), "--config", scenario.path(), "--by", "Ada",
                        "--second", second, "--why", "first set-up"});
}

std::vector<schema::Definition> kept(const test::ScenarioCopy& scenario) {
  return schema::StoreReader(scenario.path("data")).definitions();
}

TEST(Accept, AFolderIsKeptOnceAndThenOnlyWhatChanged) {
  const test::ScenarioCopy scenario;
  ASSERT_EQ(accept(scenario).status, 0);
  ASSERT_EQ(kept(scenario).size(), 21U) << "all but service.toml";
  const Ended again = accept(scenario);
  EXPECT_EQ(again.status, 0);
  EXPECT_THAT(again.out, IsEmpty());
  scenario.replace("limits/P1-60-12.toml", "pass_factor = 1.645", "pass_factor = 2");
  EXPECT_THAT(accept(scenario).out, HasSubstr("limits P1-60-12"));
  const std::vector<schema::Definition> definitions = kept(scenario);
  ASSERT_EQ(definitions.size(), 22U);
  const schema::Definition& last = definitions.back();
  EXPECT_EQ(last.kind, "limits");
  EXPECT_EQ(last.subject, "P1-60-12");
  EXPECT_EQ(last.version, 2);
  EXPECT_EQ(last.by, "Ada");
  EXPECT_EQ(last.why, "first set-up");
  EXPECT_EQ(last.text, scenario.read("limits/P1-60-12.toml"));
}

TEST(Accept, ChangedLimitsNeedTwoDifferentPeople) {
  const test::ScenarioCopy scenario;
  ASSERT_EQ(accept(scenario, "", "").status, 0) << "the first set needs one";
  scenario.replace("limits/P1-60-12.toml", "pass_factor = 1.645", "pass_factor = 2");
  for (const char* second : {"", "ada", " A.da "}) {
    const Ended alone = accept(scenario, "", second);
    EXPECT_EQ(alone.status, 3) << second;
    EXPECT_THAT(alone.err, HasSubstr("two different people")) << second;
  }
  EXPECT_EQ(kept(scenario).size(), 21U);
  EXPECT_EQ(accept(scenario, "", "Bo").status, 0);
  EXPECT_EQ(kept(scenario).back().second_by, "Bo");
}

TEST(Accept, AFolderIsAskedWholeBeforeTheFirstFileIsKept) {
  const test::ScenarioCopy scenario;
  ASSERT_EQ(accept(scenario, "", "").status, 0);
  scenario.replace("models/P1-60-12.toml", "kind = \"model\"", "kind = \"model\"  # changed");
  scenario.replace("limits/P1-60-12.toml", "pass_factor = 1.645", "pass_factor = 2");
  const Ended alone = accept(scenario, "", "");
  EXPECT_EQ(alone.status, 3);
  EXPECT_THAT(alone.out, IsEmpty());
  EXPECT_THAT(alone.err, HasSubstr("limits/P1-60-12.toml: changed limits need"));
  EXPECT_THAT(alone.err, HasSubstr("Nothing was accepted."));
  EXPECT_EQ(kept(scenario).size(), 21U) << "neither was the changed model";
}

TEST(Accept, ANameOrAReasonThatIsEmptyIsWrongUsage) {
  const test::ScenarioCopy scenario;
  const Ended nobody = test::endgate({"accept", scenario.path("limits/P1-60-12.toml"), "--config",
                                      scenario.path(), "--by", "", "--why", "set-up"});
  EXPECT_EQ(nobody.status, 2);
}

TEST(Accept, LimitsTellsWhoChangedWhatSinceWhen) {
  const test::ScenarioCopy scenario;
  ASSERT_EQ(accept(scenario).status, 0);
  scenario.replace("limits/P1-60-12.toml", "pass_factor = 1.645", "pass_factor = 2");
  ASSERT_EQ(accept(scenario).status, 0);
  const Ended told = test::endgate({"limits", "--model", "P1-60-12", "--config", scenario.path()});
  EXPECT_EQ(told.status, 0) << told.err;
  EXPECT_THAT(told.out,
              testing::ContainsRegex("1 +20[^\n]+Ada, Bo +first set-up +fad_0 +at least"));
  EXPECT_THAT(told.out, HasSubstr("by (claimed)"));
  EXPECT_THAT(told.out, HasSubstr("band 1.645 u"));
  EXPECT_THAT(told.out, testing::ContainsRegex("2 +20[^\n]+band 2 u"));
  const Ended none = test::endgate({"limits", "--model", "P9", "--config", scenario.path()});
  EXPECT_EQ(none.status, 1);
  EXPECT_THAT(none.err, HasSubstr("No limits of P9"));
}

TEST(Accept, OneWrongFileKeepsTheWholeFolderOut) {
  const test::ScenarioCopy scenario;
  scenario.replace("models/P1-60-24.toml", "cylinders = 1", "cylinders = 0");
  const Ended ended = accept(scenario);
  EXPECT_EQ(ended.status, 3);
  EXPECT_THAT(ended.err, HasSubstr("nominal.cylinders: expected a whole number from 1 to 8"));
  EXPECT_THAT(ended.err, HasSubstr("Nothing was accepted."));
  EXPECT_FALSE(std::filesystem::exists(scenario.path("data")));
}

TEST(Accept, AnOwnerThatDoesNotAnswerIsBusy) {
  const test::ScenarioCopy scenario;
  scenario.replace("service.toml", "listen_port = 8640", "listen_port = 1");
  std::filesystem::create_directories(scenario.path("data"));
  const schema::StoreWriter owner(scenario.path("data"));
  const Ended ended = accept(scenario, "limits/P1-60-12.toml");
  EXPECT_EQ(ended.status, 6);
  EXPECT_THAT(ended.err, HasSubstr("nobody answers at 127.0.0.1:1"));
}

TEST(Accept, GoesThroughTheDaemonThatOwnsTheStore) {
  const test::ScenarioCopy scenario;
  test::StubDaemon daemon(200, R"({"accepted":"limits P1-60-12@7"})");
  scenario.replace("service.toml", "listen_port = 8640",
                   "listen_port = " + std::to_string(daemon.port()));
  std::filesystem::create_directories(scenario.path("data"));
  const schema::StoreWriter owner(scenario.path("data"));
  const Ended ended = accept(scenario, "limits/P1-60-12.toml");
  EXPECT_EQ(ended.status, 0) << ended.err;
  EXPECT_EQ(ended.out, "limits P1-60-12@7\n");
  const std::string asked = daemon.request();
  EXPECT_THAT(asked, testing::StartsWith("POST /api/v1/accept HTTP/1.1\r\n"));
  EXPECT_THAT(asked, HasSubstr("\"by\":\"Ada\""));
  EXPECT_THAT(asked, HasSubstr("\"why\":\"first set-up\""));
  EXPECT_THAT(asked, HasSubstr("kind = \\\"limits\\\""));
}

TEST(Accept, ARefusalOfTheDaemonIsTold) {
  const test::ScenarioCopy scenario;
  test::StubDaemon daemon(422, R"({"code":"U-201","error":"A limit is wrong."})");
  scenario.replace("service.toml", "listen_port = 8640",
                   "listen_port = " + std::to_string(daemon.port()));
  std::filesystem::create_directories(scenario.path("data"));
  const schema::StoreWriter owner(scenario.path("data"));
  const Ended ended = accept(scenario, "limits/P1-60-12.toml");
  EXPECT_EQ(ended.status, 3);
  EXPECT_EQ(ended.err, "A limit is wrong.\n");
}

}  // namespace
}  // namespace endgate

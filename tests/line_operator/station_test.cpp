// What the scripted operator does at one bench, against a stand-in service and a served bench.

#include "fixtures/demo/station.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fixtures/demo/operator_options.h"
#include "tests/line_operator/fake_service.h"
#include "tests/simbench_server/loopback_bench.h"

namespace line_operator {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::StartsWith;

struct StationTest : testing::Test {
  simbench::ServedBench bench;
  FakeService service;

  std::vector<Told> work(int units) {
    UnitQueue queue({.seed = 1, .units = units});
    std::vector<Told> told;
    Station station({.api_host = "127.0.0.1",
                     .api_port = service.port(),
                     .bench = "north",
                     .control_port = bench.control_port()});
    station.work(queue, [&](const Told& one) { told.push_back(one); });
    return told;
  }
};

TEST_F(StationTest, ScansStartsAndTellsTheStoredVerdict) {
  const std::vector<Told> told = work(1);
  ASSERT_EQ(told.size(), 1U);
  EXPECT_THAT(told[0].serial, StartsWith("QH2648-"));
  EXPECT_EQ(told[0].word, "pass");
  EXPECT_EQ(told[0].sentence, "All limits hold.");
  EXPECT_TRUE(told[0].stored());
  ASSERT_GE(service.asked.size(), 4U);
  EXPECT_THAT(service.asked[0], StartsWith("GET /api/v1/benches/north "));
  EXPECT_EQ(service.asked[1], "POST /api/v1/benches/north/scan {\"batch\":\"48-B1\",\"serial\":\"" +
                                  told[0].serial + "\"}");
  EXPECT_EQ(service.asked[2], "POST /api/v1/benches/north/start {}");
}

TEST_F(StationTest, GoesOnWithTheNextUnitAfterAVerdict) {
  const std::vector<Told> told = work(3);
  ASSERT_EQ(told.size(), 3U);
  EXPECT_NE(told[0].serial, told[1].serial);
  EXPECT_TRUE(told[2].stored());
}

TEST_F(StationTest, SaysWhyATestDidNotBegin) {
  service.refuse_start = true;
  const std::vector<Told> told = work(1);
  ASSERT_EQ(told.size(), 1U);
  EXPECT_FALSE(told[0].stored());
  EXPECT_THAT(told[0].sentence, HasSubstr("start: the service answered 409 B-201 The cover"));
}

TEST_F(StationTest, OutlivesConnectionsThatAreNotKept) {
  service.close_after_each_answer = true;
  EXPECT_TRUE(work(2).at(1).stored());
}

TEST(OperatorOptions, TakeBenchesServiceAndShift) {
  const std::vector<const char*> arguments{
      "--api", "127.0.0.1:9000", "--bench", "north=15030",   "--bench", "south=15031", "--units",
      "7",     "--seed",         "3",       "--fault-share", "0.5"};
  const auto options = std::get<OperatorOptions>(parse_options(arguments));
  ASSERT_EQ(options.stations.size(), 2U);
  EXPECT_EQ(options.stations[1].bench, "south");
  EXPECT_EQ(options.stations[1].control_port, 15031);
  EXPECT_EQ(options.stations[1].api_port, "9000");
  EXPECT_EQ(options.queue.units, 7);
  EXPECT_EQ(options.queue.seed, 3U);
  EXPECT_EQ(options.queue.fault_share, 0.5);
}

TEST(OperatorOptions, NameTheOptionThatIsWrong) {
  const auto wrong = [](std::vector<const char*> arguments) {
    return std::get<std::string>(parse_options(arguments));
  };
  EXPECT_THAT(wrong({}), HasSubstr("--bench"));
  EXPECT_THAT(wrong({"--bench", "north"}), HasSubstr("NAME=CONTROLPORT"));
  EXPECT_THAT(wrong({"--bench", "north=x"}), HasSubstr("north=x"));
  EXPECT_THAT(wrong({"--api", "host"}), HasSubstr("HOST:PORT"));
  EXPECT_THAT(wrong({"--units", "-1"}), HasSubstr("--units"));
  EXPECT_THAT(wrong({"--fault-share", "2"}), HasSubstr("0 to 1"));
  EXPECT_THAT(wrong({"--loud", "2"}), HasSubstr("--loud"));
}

}  // namespace
}  // namespace line_operator

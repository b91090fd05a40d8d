#include "daemon/exchange/read_results.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace endgate::daemon {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

constexpr const char* kHead = "serial,model,start,verdict,fad_400 [L/min],fad_400.u [L/min]\r\n";

ResultsRead csv(const std::string& text, const std::vector<std::string>& left_out = {}) {
  return read_results(text, TableForm::csv, left_out);
}
ResultsRead json_lines(const std::string& text) {
  return read_results(text, TableForm::json_lines);
}

std::vector<std::string> said(const ResultsRead& read) {
  std::vector<std::string> all;
  for (const TableFault& fault : read.faults) all.push_back(say(fault, "old.csv:"));
  return all;
}

TEST(ReadResults, KeepsNumbersInSiAndWhatIsMissingMissing) {
  const ResultsRead read = csv(std::string(kHead) + "OLD-1,P1-60-12,2019-06-08,pass,54,\r\n" +
                               "OLD-2,P1-60-12,2019-06-08T10:42:00.250Z,,60,0.6\r\n");
  ASSERT_EQ(read.tests.size(), 2U) << testing::PrintToString(said(read));
  const schema::ImportedTest& first = read.tests[0];
  EXPECT_EQ(first.line, 2);
  EXPECT_EQ(first.tested_utc_ms, 1'559'952'000'000) << "2019-06-08 00:00 UTC";
  ASSERT_EQ(first.metrics.size(), 1U);
  EXPECT_DOUBLE_EQ(*first.metrics[0].value, 54.0 / 60000);
  EXPECT_FALSE(first.metrics[0].u) << "an uncertainty that nobody stated";
  EXPECT_EQ(read.tests[1].tested_utc_ms, 1'559'952'000'000 + (10 * 60 + 42) * 60000 + 250);
  EXPECT_EQ(read.tests[1].verdict, "");
  EXPECT_DOUBLE_EQ(*read.tests[1].metrics[0].u, 1e-5);
}

TEST(ReadResults, TakesColumnsInAnyOrderAndInSi) {
  const ResultsRead read =
      csv("dead_head [Pa gauge],start,model,serial,attempt\r\n8.5e5,2019-06-08,M,S,3\r\n");
  ASSERT_EQ(read.tests.size(), 1U) << testing::PrintToString(said(read));
  EXPECT_EQ(read.tests[0].metrics[0].value, 8.5e5);
  EXPECT_EQ(read.tests[0].attempt, 3);
}

TEST(ReadResults, ReadsJsonLinesToTheSameResults) {
  const ResultsRead read = json_lines(
      R"({"serial":"OLD-1","model":"P1-60-12","start":"2019-06-08","fad_400 [L/min]":54,)"
      R"("fad_400.u [L/min]":null,"extrapolated":"fad_400"})"
      "\n\n"
      R"({"start":"2019-06-08","model":"M","serial":"S","verdict":"fail"})");
  ASSERT_EQ(read.tests.size(), 2U) << testing::PrintToString(said(read));
  EXPECT_DOUBLE_EQ(*read.tests[0].metrics[0].value, 54.0 / 60000);
  EXPECT_TRUE(read.tests[0].metrics[0].extrapolated);
  EXPECT_EQ(read.tests[1].line, 3);
}

TEST(ReadResults, NamesLineColumnFoundAndExpectedOfABadRowAndKeepsNothingOfIt) {
  const ResultsRead read =
      csv(std::string(kHead) + "OLD-1,P1-60-12,2019-06-08,pass,54,\r\n" +
          "OLD-2,P1-60-12,2019-06-08,pass,\"54,6\",\r\n" + "OLD-3,P1-60-12,8.6.2019,good,54,\r\n");
  EXPECT_EQ(read.tests.size(), 1U);
  EXPECT_THAT(
      said(read),
      ElementsAre(
          "old.csv:3: column \"fad_400 [L/min]\": found \"54,6\", expected a number with a "
          "decimal point, such as 54.6, or nothing",
          "old.csv:4: column \"start\": found \"8.6.2019\", expected a day or an instant in "
          "UTC, such as 2019-06-08 or 2019-06-08T10:42:00Z",
          "old.csv:4: column \"verdict\": found \"good\", expected pass, fail, undecided, "
          "void, or nothing"));
}

// Each with one fault.
TEST(ReadResults, RefusesRowsThatSayTooLittleOrTheSameTwice) {
  for (const char* row :
       {",M,2019-06-08,pass,54,", "S,,2019-06-08,pass,54,", "S,M,,pass,54,",
        "S,M,2019-02-30,pass,54,", "S,M,2019-06-08 10:00,pass,54,",
        "S,M,2019-06-08T10:42:00,pass,54,", "S,M,2019-06-08T24:00Z,pass,54,", "S,M,2019-06-08,,,",
        "S,M,2019-06-08,pass,,0.5", "S,M,2019-06-08,pass,54,-0.5", "S,M,2019-06-08,pass,nan,",
        "S,M,2019-06-08,pass,inf,", "S,M,2019-06-08,pass,1e999,", "S,M,2019-06-08,pass,54 L,",
        "S,M,2019-06-08,pass,0x36,", "S,M,2019-06-08,pass,54", "S,M,2019-06-08,pass,54,,",
        "\"S\n1\",M,2019-06-08,pass,54,"}) {
    const ResultsRead read = csv(std::string(kHead) + row + "\r\n");
    EXPECT_EQ(read.faults.size(), 1U) << row << testing::PrintToString(said(read));
    EXPECT_TRUE(read.tests.empty()) << row;
  }
}

TEST(ReadResults, RefusesOneMetricInTwoUnits) {
  const ResultsRead read =
      csv("serial,model,start,fad_400 [L/min],fad_400 "
          "[m3/s]\r\nS,M,2019-06-08,54,\r\nS,M,2019-06-08,54,"
          "0.0009\r\n");
  EXPECT_EQ(read.tests.size(), 1U);
  ASSERT_EQ(read.faults.size(), 1U);
  EXPECT_EQ(read.faults[0].line, 3);
}

TEST(ReadResults, RefusesAFileWhoseHeadingIsWrong) {
  const auto first = [](const std::string& head) {
    const ResultsRead read = csv(head + "\r\n1,2,3\r\n");
    EXPECT_TRUE(read.tests.empty()) << head;
    EXPECT_TRUE(!read.faults.empty() && read.faults[0].of_file) << head;
    return read.faults.empty() ? "" : say(read.faults[0], "");
  };
  EXPECT_THAT(first("serial,model,start,fad_400 [l/min]"),
              HasSubstr("expected \"fad_400 [L/min]\", or this one left out"));
  EXPECT_THAT(first("serial,model,start,serial"), HasSubstr("the same column twice"));
  EXPECT_THAT(first("serial,model,verdict"), HasSubstr("column \"start\": found no such column"));
  EXPECT_THAT(first("serial,model,start,"), HasSubstr("not known"));
  EXPECT_THAT(say(csv("serial;model;start\r\n").faults.back(), ""), HasSubstr("semicolons"));
}

TEST(ReadResults, LeavesOutWhatItIsToldTo) {
  const std::string text = "serial,model,start,verdict,Remarks\r\nS,M,2019-06-08,pass,\"a\nb\"\r\n";
  EXPECT_TRUE(csv(text).tests.empty());
  EXPECT_EQ(csv(text, {"Remarks"}).tests.size(), 1U);
  const ResultsRead without = csv(text, {"Remarks", "verdict"});
  EXPECT_TRUE(without.tests.empty()) << "a known column can be left out as well";
}

TEST(ReadResults, KeepsNothingThatAnotherStoreDecided) {
  const ResultsRead read =
      csv("position,origin,source,standing,serial,model,start,verdict\r\n7,measured,,release,S,M,"
          "2019-06-08,pass\r\n");
  ASSERT_EQ(read.tests.size(), 1U) << testing::PrintToString(said(read));
  EXPECT_EQ(read.tests[0].source, "");
}

TEST(ReadResults, TakesAwayTheGuardAgainstFormulas) {
  const ResultsRead read =
      csv("serial,model,start,verdict,batch\r\n'-7,M,2019-06-08,pass,'90s\r\n");
  ASSERT_EQ(read.tests.size(), 1U);
  EXPECT_EQ(read.tests[0].serial, "-7");
  EXPECT_EQ(read.tests[0].batch, "'90s");
}

TEST(ReadResults, RefusesJsonLinesThatAreNoFlatObjects) {
  for (const char* line :
       {"[]", "7", "\"a\"", "null", "{\"serial\":{}}", "{\"serial\":[1]}", "{\"serial\":\"a\"",
        "{\"serial\":\"a\"}{}", "{\"serial\":\"a\",\"serial\":\"a\"}", "{serial:1}", "nonsense",
        "{\"serial\":7,\"model\":\"M\",\"start\":\"2019-06-08\",\"verdict\":\"pass\"}",
        "{\"serial\":\"S\",\"model\":\"M\",\"start\":\"2019-06-08\",\"fad_400 [L/min]\":\"54\"}",
        "{\"serial\":\"S\",\"model\":\"M\",\"start\":\"2019-06-08\",\"fad_400 [L/min]\":true}",
        "{\"serial\":\"S\",\"model\":\"M\",\"start\":\"2019-06-08\",\"fad_400 [L/min]\":1e999}",
        "{\"serial\":\"S\",\"model\":\"M\",\"start\":\"2019-06-08\",\"remarks\":\"x\"}",
        "{\"serial\":\"S\\u0000\",\"model\":\"M\",\"start\":\"2019-06-08\",\"verdict\":"
        "\"pass\"}"}) {
    const ResultsRead read = json_lines(std::string("\n") + line + "\n");
    EXPECT_TRUE(read.tests.empty()) << line;
    ASSERT_FALSE(read.faults.empty()) << line;
    EXPECT_EQ(read.faults[0].line, 2) << line;
  }
}

TEST(ReadResults, RefusesAFileThatIsEmptyOrTooLong) {
  EXPECT_TRUE(csv("").faults.at(0).of_file);
  EXPECT_TRUE(csv(kHead).faults.at(0).of_file);
  EXPECT_TRUE(json_lines("\n\n").faults.at(0).of_file);
  EXPECT_TRUE(csv(std::string(kMostTableBytes + 1, 'a')).faults.at(0).of_file);
  std::string many = "serial,model,start,verdict\n";
  for (std::size_t i = 0; i <= kMostTableRows; ++i) many += "S,M,2019-06-08,pass\n";
  EXPECT_TRUE(csv(many).faults.at(0).of_file);
}

}  // namespace
}  // namespace endgate::daemon

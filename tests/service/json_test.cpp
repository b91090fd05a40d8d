#include <gmock/gmock.h>

#include <cmath>

#include "daemon/service/json_read.h"
#include "daemon/service/json_write.h"
#include "tests/support/sample_lines.h"

namespace endgate::daemon {
namespace {

using testing::HasSubstr;
using testing::Not;

const CommandShape kShape{.needed = {"serial"}, .optional = {"batch"}, .long_text = "text"};

std::string wrong(std::string_view body) {
  const auto read = read_fields(body, kShape);
  const auto* bad = std::get_if<BadBody>(&read);
  return bad == nullptr ? "" : bad->sentence;
}

TEST(JsonRead, TakesOneFlatObjectOfTexts) {
  const auto read = read_fields(R"({"serial":"QH2648-0117-K","batch":"48-B2 \u00fc"})", kShape);
  const Fields& fields = std::get<Fields>(read);
  EXPECT_EQ(fields.at("serial"), "QH2648-0117-K");
  EXPECT_EQ(fields.at("batch"), "48-B2 ü");
}

TEST(JsonRead, NamesWhatIsWrong) {
  EXPECT_THAT(wrong(R"({"batch":"a"})"), HasSubstr("\"serial\" is missing"));
  EXPECT_THAT(wrong(R"({"serial":1})"), HasSubstr("\"serial\" must be a text"));
  EXPECT_THAT(wrong(R"({"serial":"a","verdict":"pass"})"), HasSubstr("not known"));
  EXPECT_THAT(wrong(R"({"serial":"a","serial":"b"})"), HasSubstr("stands twice"));
  EXPECT_THAT(wrong(R"({"serial":"a\u0000b"})"), HasSubstr("control character"));
  EXPECT_THAT(wrong("{\"serial\":\"a\\nb\"}"), HasSubstr("control character"));
  EXPECT_THAT(wrong(R"({"serial":")" + std::string(201, 'a') + "\"}"), HasSubstr("longer"));
}

TEST(JsonRead, RefusesWhatIsNotJson) {
  for (const char* body :
       {"", "{", "null", "[]", "\"a\"", "{\"serial\":NaN}", "{\"serial\":\"a\"} x",
        "{'serial':'a'}", "{\"serial\":\"\xC0\xAF\"}", "{\"serial\":\"a\",}", "// a\n{}"})
    EXPECT_NE(wrong(body), "") << body;
}

TEST(JsonRead, RefusesNestingDeeperThanSixteenHoweverDeep) {
  for (const std::size_t depth : {17U, 1000U, 30000U}) {
    const std::string body =
        R"({"serial":)" + std::string(depth, '[') + std::string(depth, ']') + "}";
    EXPECT_THAT(wrong(body), HasSubstr("deeper than 16")) << depth;
  }
}

TEST(JsonWrite, WritesNumbersSoThatTheyComeBackTheSame) {
  LineState line = test::sample_line("running");
  line.live.values[0].value_si = 0.1 + 0.2;
  EXPECT_THAT(line_json(line), HasSubstr("\"discharge_pressure_gauge_pa\":0.30000000000000004"));
}

TEST(JsonWrite, RefusesNumbersThatAreNotFinite) {
  LineState line = test::sample_line("running");
  line.live.values[0].value_si = NAN;
  EXPECT_THROW((void)line_json(line), JsonFault);
  line.live.values[0].value_si = INFINITY;
  EXPECT_THROW((void)line_json(line), JsonFault);
}

TEST(JsonWrite, RefusesTextThatIsNotUtf8) {
  LineState line = test::sample_line("free");
  line.message = "\xC0\xAF";
  EXPECT_THROW((void)line_json(line), JsonFault);
}

TEST(JsonWrite, WritesMissingAsNullOnPurpose) {
  LineState line = test::sample_line("void");
  EXPECT_THAT(line_json(line), HasSubstr("\"flow_m3_s\":null"));
}

TEST(JsonWrite, GivesNoVerdictBeforeTheRecordIsKept) {
  const LineState storing = test::sample_line("storing");
  ASSERT_EQ(storing.result->verdict, "pass");
  const std::string json = line_json(storing);
  EXPECT_THAT(json, HasSubstr("\"phase\":\"storing\""));
  EXPECT_THAT(json, HasSubstr("\"verdict\":null"));
  EXPECT_THAT(json, Not(HasSubstr("\"pass\"")));
  EXPECT_THAT(line_json(test::sample_line("pass")), HasSubstr("\"verdict\":\"pass\""));
}

TEST(JsonWrite, NamesEveryPhase) {
  const std::pair<const char*, const char*> phases[] = {
      {"free", "free"},       {"ready", "ready"},        {"again", "again"},
      {"refused", "refused"}, {"running", "running"},    {"storing", "storing"},
      {"fail", "verdict"},    {"storage", "out_of_use"}, {"press-stop", "press_stop"}};
  for (const auto& [look, phase] : phases)
    EXPECT_THAT(line_json(test::sample_line(look)),
                HasSubstr("\"phase\":\"" + std::string(phase) + "\""));
}

}  // namespace
}  // namespace endgate::daemon

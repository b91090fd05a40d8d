// What a test is for is said from the scan to the verdict, and a reference unit is never scrapped.

#include <gmock/gmock.h>

#include "daemon/service/json_write.h"
#include "daemon/views/line_view.h"
#include "tests/support/sample_lines.h"

namespace endgate::daemon {
namespace {

using testing::Contains;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

LineState of_purpose(const char* look, const char* purpose) {
  LineState line = test::sample_line(look);
  line.purpose = purpose;
  if (line.purpose == "reference") line.reference_name = "R1";
  return line;
}

LineState checked(const char* look, const char* outcome) {
  LineState line = of_purpose(look, "reference");
  line.result->check_outcome = outcome;
  line.result->check_sentence =
      "Reference unit R1 on bench north: flow at 600 kPa reads 7.2 % low, allowed 1.4 %.";
  line.result->standing_reason = "No test of it counts for a standing.";
  return line;
}

TEST(ReferenceLine, AReferenceUnitThatFailsIsKeptAndMaintenanceCalled) {
  const reports::LineView view = line_view_of(checked("fail", "out_of_control"));
  EXPECT_EQ(view.word, "FAIL") << "as its record says";
  EXPECT_EQ(view.next, "Keep the reference unit. Call maintenance.");
  EXPECT_EQ(view.sentence,
            "Reference unit R1 on bench north: flow at 600 kPa reads 7.2 % low, allowed 1.4 %.");
  EXPECT_THAT(view.paragraphs, Contains(HasSubstr("4.1\u00A0L/min below its limit")));
  EXPECT_EQ(view.standing, "") << "nobody ships it";
  EXPECT_THAT(view_json(view), Not(HasSubstr("reject bay")));
}

// Before its check is kept, and where no check comes of it.
TEST(ReferenceLine, AReferenceUnitThatFailsIsKeptWhateverItsCheckSays) {
  for (const char* outcome : {"", "learning"})
    EXPECT_EQ(line_view_of(checked("fail", outcome)).next,
              "Keep the reference unit. Call maintenance.")
        << outcome;
  EXPECT_EQ(line_view_of(checked("fail", "in_control")).next,
            "Take the reference unit off and keep it. Scan the next one.")
      << "the bench reads it as ever";
}

TEST(ReferenceLine, WhatTheBenchReadsDecidesNotTheLimits) {
  EXPECT_EQ(line_view_of(checked("pass", "out_of_control")).next,
            "Keep the reference unit. Call maintenance.");
  for (const char* look : {"pass", "undecided"})
    EXPECT_EQ(line_view_of(checked(look, "in_control")).next,
              "Take the reference unit off and keep it. Scan the next one.")
        << look;
}

TEST(ReferenceLine, SaysWhatTheTestIsForFromTheScanToTheVerdict) {
  for (const char* look : {"ready", "running", "storing", "pass", "fail", "void"}) {
    EXPECT_EQ(line_view_of(of_purpose(look, "reference")).purpose, "Reference test, R1") << look;
    EXPECT_THAT(line_view_of(of_purpose(look, "production")).purpose, IsEmpty()) << look;
  }
  LineState line = of_purpose("running", "retest");
  EXPECT_EQ(line_view_of(line).purpose, "Retest");
  line.retest_reason = "Audit";
  EXPECT_EQ(line_view_of(line).purpose, "Retest, audit");
  EXPECT_THAT(line_view_of(line).status, HasSubstr("Retest, audit"));
  EXPECT_THAT(view_json(line_view_of(line)), HasSubstr("\"purpose\":\"Retest, audit\""));
  EXPECT_EQ(line_view_of(of_purpose("running", "returned")).purpose, "Returned unit");
  EXPECT_EQ(line_view_of(of_purpose("running", "lab")).purpose, "Lab trial");
  EXPECT_EQ(line_view_of(of_purpose("running", "trial")).purpose, "Training");
  EXPECT_THAT(line_view_of(of_purpose("again", "retest")).purpose, IsEmpty()) << "not chosen yet";
}

}  // namespace
}  // namespace endgate::daemon

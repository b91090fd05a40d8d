#include "daemon/queries/csv.h"

#include <gtest/gtest.h>

namespace endgate::daemon {
namespace {

TEST(Csv, QuotesWhatWouldBreakARowAndNothingElse) {
  EXPECT_EQ(csv_text("B-2648"), "B-2648");
  EXPECT_EQ(csv_text("a,b"), "\"a,b\"");
  EXPECT_EQ(csv_text("the \"small\" one"), "\"the \"\"small\"\" one\"");
  EXPECT_EQ(csv_text("two\r\nlines"), "\"two\r\nlines\"");
  EXPECT_EQ(csv_text(""), "");
}

TEST(Csv, ATextIsNeverAFormula) {
  EXPECT_EQ(csv_text("=1+1"), "'=1+1");
  EXPECT_EQ(csv_text("+49"), "'+49");
  EXPECT_EQ(csv_text("-X"), "'-X");
  EXPECT_EQ(csv_text("@SUM(A1,A2)"), "\"'@SUM(A1,A2)\"");
  EXPECT_EQ(csv_text("\t=1"), "'\t=1");
}

TEST(Csv, ANumberReadsBackAsTheSameNumber) {
  EXPECT_EQ(std::stod(csv_number(0.1 + 0.2)), 0.1 + 0.2);
  EXPECT_EQ(csv_number(-3.5), "-3.5");
  EXPECT_EQ(csv_number(9.1e-4 * 60000, 10), "54.6");
  EXPECT_EQ(csv_number(std::nullopt), "");
}

TEST(Csv, AnInstantIsUtcWithMilliseconds) {
  EXPECT_EQ(csv_utc(0), "1970-01-01T00:00:00.000Z");
  // 2000-02-29 12:00:00 UTC, a leap day: 11016 days and half a day after the epoch.
  EXPECT_EQ(csv_utc((11016LL * 86400 + 43200) * 1000 + 7), "2000-02-29T12:00:00.007Z");
}

}  // namespace
}  // namespace endgate::daemon

// Files as they arrive: cut, damaged, written by other programs.  Whatever happens to one, reading
// it ends, and each result that is given is one of those that were written, whole.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <sstream>

#include "daemon/exchange/read_results.h"
#include "daemon/exchange/write_results.h"
#include "schema/canonical_bytes.h"

namespace endgate::daemon {
namespace {

std::vector<ResultRow> written_rows() {
  std::vector<ResultRow> rows;
  for (int i = 1; i <= 3; ++i)
    rows.push_back({.position = i,
                    .origin = "measured",
                    .serial = "QH2648-000" + std::to_string(i) + "-Ä",
                    .model = "P1-60-12",
                    .bench = "north, left",
                    .purpose = "production",
                    .attempt = 12,
                    .start_utc_ms = 1'795'000'000'123,
                    .cycle_s = 71.4,
                    .verdict = "pass",
                    .reasons = "the \"small\" one",
                    .metrics = {{.id = "fad_400", .value = 9.125e-4, .u = 9.5e-6},
                                {.id = "seal_leak", .value = 1.25e-8, .u = 1.5e-9}}});
  return rows;
}

std::string file_of(TableForm form) {
  std::ostringstream out;
  ResultWriter writer(form, ResultUnits::si, out);
  for (const ResultRow& row : written_rows()) writer.write(row);
  return out.str();
}

// All that a row says.
std::string words_of(const schema::ImportedTest& test) {
  std::ostringstream out;
  out.precision(17);
  out << test.serial << '|' << test.model << '|' << test.bench << '|' << test.batch << '|'
      << test.purpose << '|' << test.verdict << '|' << test.attempt.value_or(0) << '|'
      << test.tested_utc_ms << '|' << test.cycle_s.value_or(-1) << '|' << test.reasons << '|'
      << test.likely_cause;
  for (const schema::MetricValue& metric : test.metrics)
    out << '|' << metric.id << '=' << metric.value.value_or(-1) << '/' << metric.u.value_or(-1);
  return out.str();
}

// What the whole, sound file says.
std::vector<std::string> sound(TableForm form) {
  std::vector<std::string> all;
  for (const schema::ImportedTest& test : read_results(file_of(form), form).tests)
    all.push_back(words_of(test));
  return all;
}

bool is_of_file(const ResultsRead& read) {
  for (const TableFault& fault : read.faults)
    if (fault.of_file) return true;
  return false;
}

class DamagedFiles : public testing::TestWithParam<TableForm> {
 protected:
  // Every result that would be kept was written so; one that a fault of the file ends is not kept.
  void expect_only_whole_rows(const std::string& text, const std::string& what) const {
    const ResultsRead read = read_results(text, GetParam());
    if (is_of_file(read)) return;
    for (const schema::ImportedTest& test : read.tests)
      EXPECT_NE(std::ranges::find(sound_, words_of(test)), sound_.end())
          << what << ": " << words_of(test);
  }
  const std::string file_ = file_of(GetParam());
  const std::vector<std::string> sound_ = sound(GetParam());
};

TEST_P(DamagedFiles, SoundOnesAreReadWhole) {
  EXPECT_EQ(sound_.size(), 3U);
  EXPECT_TRUE(read_results(file_, GetParam()).faults.empty());
}

TEST_P(DamagedFiles, CutAtAnyByteGiveWholeRowsOrNone) {
  for (std::size_t size = 0; size < file_.size(); ++size)
    expect_only_whole_rows(file_.substr(0, size), "cut to " + std::to_string(size));
}

TEST_P(DamagedFiles, WithANulOrABrokenByteAnywhereGiveNothing) {
  for (std::size_t at = 0; at <= file_.size(); ++at)
    for (const char damage : {'\0', '\x01', '\x7f', '\xff', '\xc3', '\x80'}) {
      std::string text = file_;
      text.insert(at, 1, damage);
      // Behind the first byte of a character two bytes long, \xc3 and \x80 can make another one.
      const ResultsRead read = read_results(text, GetParam());
      EXPECT_TRUE(is_of_file(read) || schema::is_utf8(text)) << at;
    }
}

TEST_P(DamagedFiles, WithLinesEndedInEitherWayAndAByteOrderMarkAreTheSame) {
  std::string text = "\xEF\xBB\xBF";
  for (const char c : file_)
    if (c == '\n' && !text.ends_with('\r'))
      text += "\r\n";
    else
      text += c;
  const ResultsRead read = read_results(text, GetParam());
  EXPECT_TRUE(read.faults.empty());
  EXPECT_EQ(read.tests.size(), 3U);
}

TEST_P(DamagedFiles, WithAHugeFieldAreRefusedThere) {
  std::string text = file_;
  const std::size_t at = text.find("north, left");
  text.insert(at, std::string(1 << 20, 'x'));
  const ResultsRead read = read_results(text, GetParam());
  ASSERT_EQ(read.faults.size(), 1U);
  EXPECT_EQ(read.faults[0].column, "bench");
  EXPECT_LT(say(read.faults[0], "").size(), 200U) << "a fault is said in a line";
  EXPECT_EQ(read.tests.size(), 2U);
}

// Not a proof, but every branch is reached: bytes that mean something are put in, taken out and
// moved about.
TEST_P(DamagedFiles, ShuffledNeverEndTheReaderOrGiveARowThatNamesNothing) {
  std::mt19937 random(20261125);
  const std::string meaning = "\",\r\n{}[]:\\'=0-.e; \t\xC3\x84";
  for (int round = 0; round < 3000; ++round) {
    std::string text = file_;
    for (int change = 0; change < 4; ++change) {
      const std::size_t at = random() % text.size();
      switch (random() % 3) {
        case 0:
          text[at] = meaning[random() % meaning.size()];
          break;
        case 1:
          text.erase(at, 1 + random() % 20);
          break;
        default:
          text.insert(at, 1, meaning[random() % meaning.size()]);
      }
      if (text.empty()) text = file_;
    }
    for (const schema::ImportedTest& test : read_results(text, GetParam()).tests) {
      ASSERT_FALSE(test.serial.empty());
      ASSERT_FALSE(test.model.empty());
      ASSERT_TRUE(!test.metrics.empty() || !test.verdict.empty());
      for (const schema::MetricValue& metric : test.metrics)
        ASSERT_TRUE(metric.value && std::isfinite(*metric.value));
    }
  }
}

INSTANTIATE_TEST_SUITE_P(Form, DamagedFiles, testing::Values(TableForm::csv, TableForm::json_lines),
                         [](const auto& made) {
                           return made.param == TableForm::csv ? "Csv" : "JsonLines";
                         });

TEST(DamagedFilesNested, DeepJsonEndsAtItsFirstLevel) {
  std::string deep;
  for (int i = 0; i < 200000; ++i) deep += "{\"serial\":";
  const ResultsRead read = read_results(deep + "\n", TableForm::json_lines);
  ASSERT_EQ(read.faults.size(), 1U);
  EXPECT_EQ(read.faults[0].found, "an object");
}

}  // namespace
}  // namespace endgate::daemon

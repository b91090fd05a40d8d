// RFC 4180, "Common Format and MIME Type for Comma-Separated Values (CSV) Files", Y. Shafranovich,
// October 2005, section 2; the numbers in the names are those of its rules.  From memory.

#include "daemon/exchange/csv_reader.h"

#include <gtest/gtest.h>

namespace endgate::daemon {
namespace {

using Fields = std::vector<std::string>;

std::vector<Fields> all_of(std::string_view text) {
  CsvReader reader(text);
  std::vector<Fields> records;
  while (const auto record = reader.next()) records.push_back(record->fields);
  EXPECT_FALSE(reader.fault()) << reader.fault()->found;
  return records;
}

TableFault fault_of(std::string_view text) {
  CsvReader reader(text);
  while (reader.next()) continue;
  EXPECT_TRUE(reader.fault()) << text;
  return reader.fault().value_or(TableFault{});
}

TEST(CsvReader, EndsRecordsAtLineBreaks_Rule1) {
  EXPECT_EQ(all_of("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n"),
            (std::vector<Fields>{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}));
  EXPECT_EQ(all_of("a,b\nc,d\n"), (std::vector<Fields>{{"a", "b"}, {"c", "d"}}));
}

// Stricter than rule 2, which lets the last record go without: half a number would look whole.
TEST(CsvReader, RefusesALastRecordWithoutItsLineBreak_Rule2) {
  EXPECT_EQ(fault_of("a,b\r\n1,54").line, 2);
  EXPECT_EQ(fault_of("a,b\r\n1,54\r").found, "a carriage return alone");
}

TEST(CsvReader, KeepsBlanksAndEmptyFields_Rule4) {
  EXPECT_EQ(all_of(" a ,,b\r\n"), (std::vector<Fields>{{" a ", "", "b"}}));
  EXPECT_EQ(all_of(",\r\n"), (std::vector<Fields>{{"", ""}}));
}

TEST(CsvReader, TakesFieldsInQuotes_Rule5) {
  EXPECT_EQ(all_of("\"aaa\",\"bbb\",\"\"\r\n"), (std::vector<Fields>{{"aaa", "bbb", ""}}));
  EXPECT_EQ(fault_of("a,b\"c\r\n").found, "a quote inside a field");
  EXPECT_EQ(fault_of("\"a\"b\r\n").found, "text after a closing quote");
}

TEST(CsvReader, LetsQuotesHoldCommasAndLineBreaks_Rule6) {
  EXPECT_EQ(all_of("\"aaa\",\"b\r\nbb\",\"c,c\"\r\nzzz,yyy,xxx\r\n"),
            (std::vector<Fields>{{"aaa", "b\r\nbb", "c,c"}, {"zzz", "yyy", "xxx"}}));
}

TEST(CsvReader, ReadsADoubledQuoteAsOne_Rule7) {
  EXPECT_EQ(all_of("\"aaa\",\"b\"\"bb\",\"\"\"\"\r\n"),
            (std::vector<Fields>{{"aaa", "b\"bb", "\""}}));
}

TEST(CsvReader, CountsTheLinesInsideQuotes) {
  CsvReader reader("a\r\n\"1\n2\n3\"\r\nlast\r\n");
  std::vector<std::int64_t> lines;
  while (const auto record = reader.next()) lines.push_back(record->line);
  EXPECT_EQ(lines, (std::vector<std::int64_t>{1, 2, 5}));
}

TEST(CsvReader, NamesTheLineOfAQuoteThatIsNeverClosed) {
  const TableFault fault = fault_of("a\r\nb\r\n\"c\r\nd\r\n");
  EXPECT_EQ(fault.line, 3);
  EXPECT_TRUE(fault.of_file);
}

}  // namespace
}  // namespace endgate::daemon

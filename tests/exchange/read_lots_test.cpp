#include "daemon/exchange/read_lots.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace endgate::daemon {
namespace {

using testing::ElementsAre;

constexpr const char* kLotsHead = "serial,batch,part,lot\r\n";

std::vector<std::string> said(const LotsRead& read) {
  std::vector<std::string> all;
  for (const TableFault& fault : read.faults) all.push_back(say(fault, "lots.csv:"));
  return all;
}

TEST(ReadLots, RowsOfOneUnitOrBatchBecomeOneEntryWhereverTheyStand) {
  const LotsRead read = read_lots(std::string(kLotsHead) + "QH1,,motor,M-118\r\n" +
                                      ",48-B2,reed,R 2620/a\r\n" + "QH1,,reed,R-7\r\n",
                                  TableForm::csv);
  ASSERT_EQ(read.entries.size(), 2U) << testing::PrintToString(said(read));
  const schema::Lots& unit = read.entries[0].lots;
  EXPECT_EQ(unit.subject_kind, "unit");
  EXPECT_EQ(unit.subject, "QH1");
  ASSERT_EQ(unit.parts.size(), 2U);
  EXPECT_EQ(unit.parts[1].part, "reed");
  EXPECT_EQ(unit.parts[1].lot, "R-7");
  EXPECT_EQ(read.entries[0].line, 2);
  EXPECT_EQ(read.entries[1].lots.subject_kind, "batch");
  EXPECT_EQ(read.entries[1].lots.parts[0].lot, "R 2620/a");
  EXPECT_EQ(read.entries[1].line, 3);
}

TEST(ReadLots, ReadsJsonLinesToTheSameEntries) {
  const LotsRead read = read_lots(R"({"serial":"QH1","part":"motor","lot":"M-118"})"
                                  "\n"
                                  R"({"batch":"48-B2","part":"reed","lot":"R-2","serial":null})",
                                  TableForm::json_lines);
  ASSERT_EQ(read.entries.size(), 2U) << testing::PrintToString(said(read));
  EXPECT_EQ(read.entries[1].lots.subject, "48-B2");
}

TEST(ReadLots, NamesTheLineOfEachRowThatCannotBeTaken) {
  const LotsRead read = read_lots(
      std::string(kLotsHead) + "QH1,48-B2,motor,M-1\r\n" + ",,motor,M-1\r\n" + "QH1,,motor,\r\n" +
          "QH1,,piston ring,P-1\r\n" + "QH1,,motor,M-1\r\n" + "QH1,,motor,M-1\r\n",
      TableForm::csv);
  EXPECT_THAT(
      said(read),
      ElementsAre("lots.csv:2: found a serial and a batch, expected one of the two",
                  "lots.csv:3: found neither a serial nor a batch, expected one of the two",
                  "lots.csv:4: column \"lot\": found nothing, expected a text",
                  "lots.csv:5: column \"part\": found \"piston ring\", expected one word, such as "
                  "piston_ring",
                  "lots.csv:7: found the same part and lot as in line 6, expected it once"));
}

TEST(ReadLots, NeedsPartAndLotInTheHeading) {
  const LotsRead read = read_lots("serial,part\r\nQH1,motor\r\n", TableForm::csv);
  ASSERT_EQ(read.faults.size(), 1U);
  EXPECT_TRUE(read.faults[0].of_file);
  EXPECT_EQ(read.faults[0].column, "lot");
  EXPECT_TRUE(read.entries.empty());
}

}  // namespace
}  // namespace endgate::daemon

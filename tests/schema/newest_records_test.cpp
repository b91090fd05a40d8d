#include "schema/newest_records.h"

#include <gtest/gtest.h>

#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

TEST(NewestRecords, AreGivenOldestFirstOfOneModelAndBehindAPosition) {
  const test::TemporaryFolder folder;
  StoreWriter writer(folder.path());
  std::vector<Position> kept;
  for (const char* serial : {"QH1", "QH2", "QH3"})
    kept.push_back(test::append_test(writer, serial));
  TestStart other = test::made_start("QH4");
  other.model = "P2-120-24";
  const Position start = writer.append(other);
  kept.push_back(writer.append(test::made_record(start, other), std::nullopt));

  const StoreReader reader(folder.path());
  EXPECT_EQ(newest_records(reader, 10), kept);
  EXPECT_EQ(newest_records(reader, 2), (std::vector{kept[2], kept[3]}));
  EXPECT_EQ(newest_records(reader, 2, "P1-60-12"), (std::vector{kept[1], kept[2]}));
  EXPECT_EQ(newest_records(reader, 10, "", kept[1]), (std::vector{kept[2], kept[3]}));
  EXPECT_TRUE(newest_records(reader, 10, "P2-120-24", kept[3]).empty());
  EXPECT_TRUE(newest_records(reader, 10, "P9").empty());
}

}  // namespace
}  // namespace endgate::schema

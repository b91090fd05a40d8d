// Batches keep their number in the newest part of a history.

#include "analysis/statistics/chosen_rows.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace endgate::statistics {
namespace {

using testing::ElementsAre;

TestColumns columns_in(const std::vector<int>& batch_of_row) {
  TestColumns columns;
  for (std::size_t row = 0; row < batch_of_row.size(); ++row) {
    columns.position.push_back(static_cast<std::int64_t>(row));
    columns.time_utc_ms.push_back(0);
    columns.value.push_back(1);
    columns.u.push_back(0);
    columns.bench.add("north");
  }
  columns.batch.levels = {"a", "b", "c", "d", "e"};
  columns.batch.of_row = batch_of_row;
  return columns;
}

// "c" lost its only row; a row of "e" was tested before the first of "d".
TEST(ChosenRows, ABatchThatLostItsRowsKeepsItsPlace) {
  const TestColumns newest = rows_since_batch(columns_in({0, 1, 4, 3, 4}), 1);
  EXPECT_THAT(newest.batch.levels, ElementsAre("b", "c", "d", "e"));
  EXPECT_THAT(newest.batch.of_row, ElementsAre(0, 3, 2, 3));
  EXPECT_THAT(newest.position, ElementsAre(1, 2, 3, 4));
}

}  // namespace
}  // namespace endgate::statistics

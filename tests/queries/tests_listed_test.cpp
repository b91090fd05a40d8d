// Tests page by page, and only those that were asked for.

#include "daemon/queries/tests_listed.h"

#include <gtest/gtest.h>

#include <set>

#include "tests/support/batch_history.h"

namespace endgate::daemon {
namespace {

class TestsListedOnPages : public testing::Test {
 protected:
  TestsListedOnPages() { history_.make({.batches = 4}); }
  TestsListed listed(const ListAsked& asked) {
    return tests_listed(history_.reader(), asked, {"P1-60-12", "P1-20-12"});
  }
  test::BatchHistory history_;
};

TEST_F(TestsListedOnPages, EveryTestStandsOnOnePageNewestFirst) {
  ListAsked asked{.count = 7};
  std::set<schema::Position> seen;
  std::size_t pages = 0;
  for (TestsListed page = listed(asked);; page = listed(asked)) {
    ++pages;
    EXPECT_EQ(page.newer, seen.size());
    for (const schema::StoredRecord& test : page.tests) {
      EXPECT_TRUE(seen.empty() || test.position < *seen.begin());
      seen.insert(test.position);
    }
    if (page.next_before == 0) break;
    asked.before = page.next_before;
  }
  EXPECT_EQ(seen.size(), 48U) << "40 of production and 8 of reference units";
  EXPECT_EQ(pages, 7U);
}

TEST_F(TestsListedOnPages, OnlyWhatWasAskedForIsListed) {
  ListAsked asked;
  asked.verdict = "fail";
  EXPECT_EQ(listed(asked).matching, 4U);
  asked.filter.batch = "b2";
  const TestsListed one = listed(asked);
  ASSERT_EQ(one.tests.size(), 1U);
  EXPECT_EQ(one.tests.front().record.start.serial, "b2-9");
  EXPECT_EQ(listed({.filter = {.purpose = "reference"}}).matching, 8U);
  EXPECT_EQ(listed({.filter = {.model = "P1-20-12", .purpose = ""}}).matching, 0U);
}

}  // namespace
}  // namespace endgate::daemon

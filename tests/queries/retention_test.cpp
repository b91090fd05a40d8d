// Whose samples go by age, and whose stay.

#include "daemon/queries/retention.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/queries/unit_events.h"
#include "schema/prune_traces.h"
#include "tests/support/made_facts.h"
#include "tests/support/temporary_folder.h"

namespace endgate::daemon {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

constexpr std::int64_t kDay = 86'400'000;

class Retained : public testing::Test {
 protected:
  schema::Position keep(const std::string& serial, std::int64_t attempt, int days_ago,
                        const std::string& purpose, const std::string& verdict = "pass") {
    schema::TestStart start = test::made_start(serial, attempt);
    start.purpose = purpose;
    start.at.utc_ms = kNow - days_ago * kDay;
    const schema::Position position = writer_.append(start);
    schema::Record record = test::made_record(position, start);
    record.verdict = verdict;
    return writer_.append(record, test::made_trace(1, 1, 1, 1));
  }
  [[nodiscard]] schema::StoreReader reader() const { return schema::StoreReader(folder_.path()); }
  [[nodiscard]] Retention sorted(const RetentionRule& rule) const {
    return retention_of(reader(), rule, kNow);
  }

  static constexpr std::int64_t kNow = test::kNovember2026;
  test::TemporaryFolder folder_;
  schema::StoreWriter writer_{folder_.path()};
};

TEST_F(Retained, OnlyOldTestsOfProductionOutOfWarrantyGo) {
  const auto old = keep("OLD", 1, 3000, "production");
  const auto fail = keep("BORN", 1, 1000, "production", "fail");
  keep("BORN", 2, 999, "retest");
  const auto later = keep("BORN", 3, 998, "retest");
  keep("REF", 1, 3000, "reference");
  keep("BACK", 1, 2000, "returned");
  keep("LAB", 1, 2000, "lab");
  keep("NEW", 1, 10, "production");
  const Retention found = sorted({.older_than_days = 700, .warranty_months = 60});
  EXPECT_THAT(found.go, ElementsAre(old, fail, later)) << "a fail before birth and an audit after";
  EXPECT_EQ(found.of_other_purpose, 3U);
  EXPECT_EQ(found.under_warranty, 1U);
  EXPECT_EQ(found.too_young, 1U);
  EXPECT_EQ(sorted({.older_than_days = 700, .warranty_months = 0}).under_warranty, 0U);
  EXPECT_TRUE(sorted({.older_than_days = 4000}).go.empty());
}

TEST_F(Retained, WhatLiesInTheFileThatTestsAreWrittenToWaits) {
  keep("OLD", 1, 3000, "production");
  const Retention found = sorted({.older_than_days = 700});
  EXPECT_TRUE(found.go.empty());
  EXPECT_EQ(found.in_newest_file, 1U);
}

TEST_F(Retained, AHistorySaysByWhomAndWhySamplesWereRemoved) {
  const auto old = keep("OLD", 1, 3000, "production");
  keep("NEW", 1, 10, "production");
  const RetentionRule rule{.older_than_days = 700};
  writer_.append(std::vector{schema::TraceRemoved{.record = old,
                                                  .policy = policy_words(rule, "disk is short"),
                                                  .by = "Ada",
                                                  .at = {.utc_ms = kNow}}});
  schema::take_stated_traces(folder_.path());
  EXPECT_EQ(sorted(rule).gone_before, 1U);
  EXPECT_TRUE(sorted(rule).go.empty());
  const auto events = events_of(history_of(reader(), "OLD"));
  ASSERT_EQ(events.size(), 1U);
  EXPECT_EQ(events.front().entry.what, "samples removed");
  EXPECT_EQ(events.front().entry.by, "Ada");
  EXPECT_THAT(events.front().entry.words, HasSubstr("of attempt 1: samples of production tests"));
  EXPECT_THAT(events.front().entry.words, HasSubstr("disk is short"));
  EXPECT_THAT(removed_words(reader().trace_removal_of(old)->fact),
              HasSubstr("removed on 2026-11-18 by Ada"));
}

}  // namespace
}  // namespace endgate::daemon

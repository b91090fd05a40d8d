// What a scan asks about its bench is right, and costs the same however many tests there are.

#include <gtest/gtest.h>

#include "daemon/queries/bench_checks.h"
#include "schema/trend_file.h"
#include "tests/support/batch_history.h"

namespace endgate::daemon {
namespace {

// 40 batches of 18 units in turn on north and south, and a reference unit on each.
class DueOnBench : public testing::Test {
 protected:
  static constexpr int kBatches = 40, kOnEachBench = kBatches * 10;

  DueOnBench() { history_.make({.batches = kBatches, .units = 18}); }

  void catch_up() {
    const auto truth = history_.reader();
    schema::TrendWriter derived(history_.folder());
    while (!derived.catch_up(truth).done()) {
    }
  }
  [[nodiscard]] BenchKept asked(schema::Deadline deadline = schema::kNoDeadline) const {
    const schema::StoreReader store(history_.folder(), deadline);
    return due_on_bench(store, "north", kinds_, parts_);
  }
  schema::Position replaced(const std::string& part) {
    return history_.enter(schema::BenchCheck{
        .bench = "north", .kind = kWearPart, .subject = part, .outcome = kReplaced});
  }
  void test_again(int times) {
    for (int i = 0; i < times; ++i)
      history_.keep("late-" + std::to_string(late_++), "late", "north", "production", 1, 8e-4);
  }

  test::BatchHistory history_;
  std::vector<std::string> kinds_{kReferenceUnit, "flow_nozzle"}, parts_{"clamp", "hose"};
  int late_ = 0;
};

TEST_F(DueOnBench, UsesOfAPartAreThoseSinceItWasReplaced) {
  test_again(3);
  replaced("clamp");
  test_again(2);
  for (const bool with_derived : {false, true}) {
    if (with_derived) catch_up();
    EXPECT_EQ(asked().tests_on_part.at("clamp"), 2) << with_derived;
    EXPECT_EQ(asked().tests_on_part.at("hose"), kOnEachBench + 5) << with_derived;
  }
  test_again(4);
  EXPECT_EQ(asked().tests_on_part.at("clamp"), 6) << "what trend.db has not got yet counts too";
  EXPECT_EQ(asked().tests_on_part.at("hose"), kOnEachBench + 9);
}

TEST_F(DueOnBench, UsesOfAnotherBenchDoNotCount) {
  catch_up();
  const schema::StoreReader store(history_.folder());
  EXPECT_EQ(due_on_bench(store, "east", kinds_, parts_).tests_on_part.at("clamp"), 0);
  EXPECT_EQ(due_on_bench(store, "south", kinds_, parts_).tests_on_part.at("clamp"), kOnEachBench);
}

TEST_F(DueOnBench, OfEachKindOnlyTheNewestCheckIsRead) {
  const auto check = [](const std::string& kind, const std::string& text) {
    return schema::BenchCheck{.bench = "north", .kind = kind, .text = text};
  };
  history_.enter(check("flow_nozzle", "first"));
  history_.enter(check("flow_nozzle", "second"));
  const schema::Position taken_back = history_.enter(check("flow_nozzle", "mistake"));
  history_.enter(schema::Withdrawal{.withdrawn = taken_back, .why = "wrong bench", .by = "Ada"});
  history_.enter(check("fixture_leak", "not asked for"));
  ASSERT_EQ(asked().checks.size(), 1U);
  EXPECT_EQ(asked().checks.front().fact.text, "second");
}

// A deadline that is over ends what runs for more than a thousand instructions of SQLite
// (schema/deadline.h); counting the 800 tests alone takes more.
TEST_F(DueOnBench, NothingIsReadInProportionToTheNumberOfTests) {
  catch_up();
  EXPECT_NO_THROW(static_cast<void>(asked(std::chrono::steady_clock::now())));
  schema::delete_trend_file(history_.folder());
  EXPECT_THROW(static_cast<void>(asked(std::chrono::steady_clock::now())), schema::StoreFault)
      << "without trend.db it has to count";
}

TEST_F(DueOnBench, ThirtyDaysCountTheTestsOfThirtyDays) {
  const std::int64_t last_day =
      test::BatchHistory::kFirstDayUtcMs + (kBatches - 1) * test::BatchHistory::kDayMs;
  const BenchKept kept =
      kept_of_bench(history_.reader(), "north", parts_, last_day + test::BatchHistory::kDayMs / 2);
  EXPECT_EQ(kept.tests_in_30_days, 30 * 10);
}

}  // namespace
}  // namespace endgate::daemon

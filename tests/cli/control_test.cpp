// Control limits frozen by a person, from the command to the trend that uses them.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/line/control_history.h"
#include "tests/cli/command.h"
#include "tests/support/batch_history.h"

namespace endgate {
namespace {

using test::Ended;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

class Control : public testing::Test {
 protected:
  // The store must have no writer while a command writes.
  void make(const test::HistoryPlan& plan) {
    test::BatchHistory history;
    history.make(plan);
    std::filesystem::copy(history.folder(), folder_.path(),
                          std::filesystem::copy_options::recursive |
                              std::filesystem::copy_options::overwrite_existing);
  }
  Ended ask(std::vector<std::string> words) const {
    words.insert(words.end(), {"--data", folder_.path().string()});
    return test::endgate(std::move(words));
  }
  Ended freeze(const std::string& from, const std::string& to,
               std::vector<std::string> more = {}) const {
    std::vector<std::string> words{"control", "freeze", "fad_400", "--model", "P1-60-12",
                                   "--from",  from,     "--to",    to,        "--by",
                                   "Ada",     "--why",  "settled"};
    words.insert(words.end(), more.begin(), more.end());
    return ask(std::move(words));
  }
  Ended chart() const { return ask({"trend", "fad_400", "--model", "P1-60-12", "--chart"}); }

  test::TemporaryFolder folder_;
};

TEST_F(Control, LimitsFromTooFewBatchesAreRefusedWithHowManyAreNeeded) {
  make({.batches = 14});
  const Ended ended = freeze("b0", "b13");
  EXPECT_EQ(ended.status, 1);
  EXPECT_THAT(ended.err, AllOf(HasSubstr("at least 20 batches"), HasSubstr("this span has 14"),
                               HasSubstr("wait for 6 more"), HasSubstr("Nothing was frozen.")));
  EXPECT_EQ(ask({"control", "list"}).status, 1);
}

TEST_F(Control, ABatchThatIsNotThereIsNamed) {
  make({.batches = 2});
  EXPECT_THAT(freeze("b0", "x9").err, HasSubstr("is of batch x9"));
  EXPECT_THAT(freeze("b1", "b0").err, HasSubstr("Turn the two round"));
  EXPECT_EQ(freeze("b0", "b1", {"--rules", "sometimes"}).status, 2);
}

TEST_F(Control, FrozenLimitsRuleTheChartFromThenOn) {
  make({.batches = 30, .product_shift = -0.03, .shift_from = 24});
  const Ended before = chart();
  EXPECT_THAT(before.err, HasSubstr("computed from the batches shown"));

  const Ended frozen = freeze("b0", "b22");
  ASSERT_EQ(frozen.status, 0) << frozen.err;
  EXPECT_THAT(frozen.out, HasSubstr("control P1-60-12 fad_400 (position "));
  EXPECT_THAT(frozen.err, AllOf(HasSubstr("230 tests in 23 batches, b0 to b22"),
                                HasSubstr("standard deviation between batches")));

  const Ended after = chart();
  EXPECT_THAT(after.err, AllOf(HasSubstr("Control limits: version 1, frozen "),
                               HasSubstr("by Ada from 23 batches b0 to b22 (settled)"),
                               HasSubstr("rules in force together signal falsely once in about"),
                               HasSubstr("leave that open between")));
  EXPECT_THAT(after.err, HasSubstr("Batch b24: One mean below the limits. See what"));
  EXPECT_THAT(after.err, Not(HasSubstr("Batch b2:")));

  const Ended list = ask({"control", "list"});
  EXPECT_EQ(list.status, 0);
  EXPECT_THAT(list.out, AllOf(HasSubstr("P1-60-12 fad_400  1 "), HasSubstr("b0 to b22"),
                              HasSubstr("outside one_side running_mean running_sum")));
}

TEST_F(Control, LaterVersionsLeaveWhatWasJudgedAsItWas) {
  make({.batches = 30, .product_shift = -0.03, .shift_from = 24});
  ASSERT_EQ(freeze("b0", "b22").status, 0);
  ASSERT_EQ(freeze("b1", "b23").status, 0);
  const Ended ended = chart();
  EXPECT_THAT(ended.err, AllOf(HasSubstr("Control limits: version 2"), HasSubstr("Batch b24:")));
  const schema::StoreReader store(folder_.path());
  const auto versions = daemon::control_versions(store, {.model = "P1-60-12"}, "fad_400");
  ASSERT_EQ(versions.size(), 2U);
  EXPECT_EQ(versions[0].behind_position, versions[0].last_position);
  EXPECT_GT(versions[1].behind_position, versions[1].last_position);
}

TEST_F(Control, ABatchUnlikeTheOthersMustBeLeftOutByName) {
  make({.batches = 24, .product_shift = -0.08, .shift_from = 23});
  const Ended refused = freeze("b0", "b23");
  EXPECT_EQ(refused.status, 1);
  EXPECT_THAT(refused.err, HasSubstr("Not like the others, even by the limits that they widen "
                                     "themselves: batch b23."));
  const Ended taken = freeze("b0", "b23", {"--leave-out", "b23"});
  EXPECT_EQ(taken.status, 0) << taken.err;
  const schema::StoreReader store(folder_.path());
  EXPECT_EQ(daemon::frozen_texts(store).front().facts->from.left_out,
            std::vector<std::string>{"b23"});
}

TEST_F(Control, OfOneBenchAndOfAllAreTwoSubjects) {
  make({.batches = 22});
  ASSERT_EQ(freeze("b0", "b20", {"--bench", "north", "--rules", "outside"}).status, 0);
  EXPECT_THAT(chart().err, HasSubstr("computed from the batches shown"));
  const Ended north =
      ask({"trend", "fad_400", "--model", "P1-60-12", "--bench", "north", "--chart"});
  EXPECT_THAT(north.err, AllOf(HasSubstr("version 1"), HasSubstr("the rule in force signals")));
}

TEST_F(Control, TheDriftOfEachBenchIsATable) {
  make({.batches = 12, .bench_shift = -0.06});
  const Ended told = ask({"trend", "fad_400", "--model", "P1-60-12", "--bench-offset"});
  EXPECT_EQ(told.status, 0) << told.err;
  EXPECT_THAT(told.out, HasSubstr("batch  north [L/min]  u [L/min]"));
  EXPECT_THAT(told.err, HasSubstr("Bench south: "));
}

TEST_F(Control, ADryRunShowsAndKeepsNothing) {
  make({.batches = 21});
  const Ended shown = freeze("b0", "b20", {"--dry-run"});
  EXPECT_EQ(shown.status, 0);
  EXPECT_THAT(shown.err, HasSubstr("Nothing was frozen."));
  EXPECT_EQ(ask({"control", "list"}).status, 1);
}

TEST_F(Control, SeveralMetricsTogetherNeedBatchesThatHaveThemAll) {
  make({.batches = 2});
  const auto together = [&](const char* names) {
    return ask({"trend", "fad_400", "--model", "P1-60-12", "--together", names});
  };
  EXPECT_EQ(together("curve").status, 1);
  EXPECT_THAT(together("curve").err, HasSubstr("3 metrics together need 20 batches; here are 0."));
  EXPECT_EQ(together("fad_999").status, 2);
}

}  // namespace
}  // namespace endgate

// Kept tests are judged again out of the store, and what cannot be is said why.

#include "daemon/queries/judgement.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/queries/moves.h"
#include "schema/sqlite_handle.h"
#include "tests/support/evaluated_test.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::daemon {
namespace {

using testing::HasSubstr;
using testing::UnorderedElementsAre;

class JudgedAgainFromTheStore : public testing::Test {
 protected:
  [[nodiscard]] JudgedTest judged(schema::Position position,
                                  const analysis::LimitSet* draft = nullptr) const {
    return rejudged(schema::StoreReader(folder_.path()), position, draft);
  }
  test::TemporaryFolder folder_;
  schema::StoreWriter writer_{folder_.path()};
};

TEST_F(JudgedAgainFromTheStore, TheSameProgramSaysTheSameInEveryBit_M3) {
  const JudgedTest test = judged(test::keep_evaluated(writer_, "QH1"));
  EXPECT_EQ(test.serial, "QH1");
  ASSERT_TRUE(test.now);
  EXPECT_EQ(test.kept.verdict, "pass");
  EXPECT_GE(test.kept.metrics.size(), 10U);
  EXPECT_EQ(test.kept.parts, test.now->parts);
  Moves moves;
  EXPECT_TRUE(moves.add("QH1", test.kept, *test.now).equal);
  EXPECT_FALSE(moves.any());
}

TEST_F(JudgedAgainFromTheStore, EveryPartThatAnEvaluationMakesIsComparedAndNoOther) {
  const JudgedTest test = judged(test::keep_evaluated(writer_, "QH1"));
  std::vector<std::string> names;
  for (const auto& [name, digest] : test.kept.parts) names.push_back(name);
  EXPECT_THAT(names, UnorderedElementsAre("verdict", "would_have_been", "reasons", "likely_cause",
                                          "metrics", "limits", "points", "curve", "curve_refusal",
                                          "drawn", "health", "causes"));
}

TEST_F(JudgedAgainFromTheStore, AnotherBitInTheCurveIsSeenThoughNoNumberMoves) {
  const JudgedTest test = judged(test::keep_evaluated(
      writer_, "QH1", 1, [](schema::Record& record) { record.curve->chi_square += 1e-9; }));
  Moves moves;
  EXPECT_FALSE(moves.add("QH1", test.kept, *test.now).equal);
  EXPECT_FALSE(moves.any());
  EXPECT_EQ(moves.parts(), (std::map<std::string, std::int64_t>{{"curve", 1}}));
}

TEST_F(JudgedAgainFromTheStore, ADraftLimitIsHeldAgainstTheSameNumbers) {
  const schema::Position position = test::keep_evaluated(writer_, "QH1");
  analysis::LimitSet draft = test::evaluated_context().limits;
  draft.limits[0].lower = 2e-3;
  const JudgedTest test = judged(position, &draft);
  EXPECT_EQ(test.kept.verdict, "pass");
  ASSERT_TRUE(test.now);
  EXPECT_EQ(test.now->verdict, "fail");
  EXPECT_THAT(test.now->reason, HasSubstr("400\u00A0kPa"));
  Moves moves;
  EXPECT_EQ(moves.add("QH1", test.kept, *test.now).numbers, 0);
}

TEST_F(JudgedAgainFromTheStore, ALabTrialIsNotHeldAgainstADraftForProduction) {
  schema::TestStart start = test::made_start("QH1");
  start.purpose = "trial";
  const schema::Position position = test::keep_evaluated(writer_, start);
  const analysis::LimitSet draft = test::evaluated_context().limits;
  EXPECT_EQ(judged(position, &draft).not_judged, NotJudged::no_such_limits);
  EXPECT_EQ(judged(position).not_judged, NotJudged::no);
}

TEST_F(JudgedAgainFromTheStore, SamplesThatLeftByPolicyAreToldApartFromThoseThatAreMissing) {
  const schema::Position stated = test::keep_evaluated(writer_, "QH1", 1);
  const schema::Position missing = test::keep_evaluated(writer_, "QH2", 2);
  writer_.append(std::vector{
      schema::TraceRemoved{.record = stated, .policy = "older than 700 days", .by = "Ada"}});
  EXPECT_EQ(judged(stated).not_judged, NotJudged::no) << "stated, but still there";
  schema::Database(folder_.path() / "trace-0001.db", schema::Database::Mode::read_write)
      .run("DROP TRIGGER trace_is_never_deleted; DELETE FROM trace");
  EXPECT_EQ(judged(stated).not_judged, NotJudged::samples_gone);
  EXPECT_EQ(judged(stated).trouble, "");
  EXPECT_EQ(judged(missing).not_judged, NotJudged::unreadable);
  EXPECT_THAT(judged(missing).trouble, HasSubstr("no removal is stated"));
}

TEST_F(JudgedAgainFromTheStore, ATestWithoutSamplesWasNeverJudged) {
  EXPECT_EQ(judged(test::append_test(writer_, "QH1")).not_judged, NotJudged::never_judged);
}

TEST_F(JudgedAgainFromTheStore, AContextThatCannotBeReadIsOfThatTestAlone) {
  const schema::Position position = test::keep_evaluated(writer_, "QH1", 1, [](schema::Record& r) {
    r.context_bytes = {1, 2};
  });
  const JudgedTest test = judged(position);
  EXPECT_EQ(test.not_judged, NotJudged::unreadable);
  EXPECT_NE(test.trouble, "");
}

TEST_F(JudgedAgainFromTheStore, APositionWithoutATestIsRefused) {
  EXPECT_EQ(test::fault_of([&] { (void)judged(1); }), schema::StoreFault::Kind::refused);
}

}  // namespace
}  // namespace endgate::daemon

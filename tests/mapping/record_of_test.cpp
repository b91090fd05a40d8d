// Results become a record, and a record becomes what later tests of the serial are judged with.

#include "daemon/mapping/record_of.h"

#include <gtest/gtest.h>

#include "analysis/reason_codes.h"
#include "daemon/mapping/context_bytes.h"
#include "daemon/mapping/evaluation_parts.h"
#include "daemon/mapping/past_test.h"
#include "schema/seal.h"
#include "tests/support/store_helpers.h"

namespace endgate::daemon {
namespace {

using analysis::Verdict;
using schema::Record;
using test::made_start;

analysis::Evaluation made_evaluation() {
  analysis::Evaluation evaluation;
  evaluation.metrics = {{.id = "fad_400",
                         .value = 9e-4,
                         .u = 1e-5,
                         .parts = {{"random", 6e-6}, {"calibration north@1/flow", -8e-6}},
                         .extrapolated = false,
                         .missing_reason = ""},
                        {.id = "dead_head",
                         .value = {},
                         .u = {},
                         .parts = {},
                         .extrapolated = true,
                         .missing_reason = "no curve"}};
  evaluation.grade.verdict = Verdict::undecided;
  evaluation.grade.reasons = {{"too_near_limit", "fad_400", "flow at 400 kPa is too near"}};
  evaluation.grade.would_have_been = "would have failed: flow at 400 kPa";
  analysis::LimitOutcome outcome;
  outcome.metric = "fad_400";
  outcome.verdict = Verdict::undecided;
  outcome.lower = 8.9e-4;
  outcome.pass_band = 1.6e-5;
  outcome.margin = 1e-5;
  evaluation.grade.limits = {outcome};
  evaluation.health = {{.channel_id = "flow",
                        .state = analysis::HealthState::silent,
                        .detail = "silent for 0.4 s",
                        .time_us = 12'300'000}};
  evaluation.points.resize(1);
  evaluation.points[0].speed_u_random_rev_s = 0.25;
  evaluation.points[0].drift_rel = 0.001;
  evaluation.curve.emplace();
  evaluation.curve->covariance[0][2] = 5;
  evaluation.curve->covariance[2][1] = 7;
  evaluation.drawn.resize(64);
  return evaluation;
}

Record made_record(const analysis::RawTrace& trace = {}) {
  return record_of({.start = made_start("QH1"),
                    .start_position = 7,
                    .finished = {},
                    .cycle_s = 70.0,
                    .software = "endgate 0.1.0",
                    .simulated = true},
                   trace, analysis::Context{}, made_evaluation(),
                   {analysis::StandingWord::hold, "not decided yet"});
}

TEST(RecordOf, KeepsVerdictReasonsLimitsAndStandingInWords) {
  const Record record = made_record();
  EXPECT_EQ(record.verdict, "undecided");
  EXPECT_EQ(record.standing, "hold");
  EXPECT_EQ(record.standing_reason, "not decided yet");
  EXPECT_EQ(record.would_have_been, "would have failed: flow at 400 kPa");
  ASSERT_EQ(record.reasons.size(), 1U);
  EXPECT_EQ(record.reasons[0].code, "too_near_limit");
  ASSERT_EQ(record.limits.size(), 1U);
  EXPECT_EQ(record.limits[0].outcome, "undecided");
  EXPECT_EQ(record.limits[0].pass_band, 1.6e-5);
  EXPECT_EQ(record.start_position, 7);
}

TEST(RecordOf, KeepsPointsCurveAndHealth) {
  const Record record = made_record();
  ASSERT_EQ(record.points.size(), 1U);
  EXPECT_EQ(record.points[0].speed_u_random_rev_s, 0.25);
  EXPECT_EQ(record.points[0].drift_rel, 0.001);
  ASSERT_TRUE(record.curve);
  EXPECT_EQ(record.curve->covariance[2], 5);
  EXPECT_EQ(record.curve->covariance[7], 7);
  EXPECT_EQ(record.drawn.size(), 64U);
  ASSERT_EQ(record.health.size(), 1U);
  EXPECT_EQ(record.health[0].state, "silent");
  EXPECT_EQ(record.health[0].time_us, 12'300'000);
}

TEST(RecordOf, SaysWhyTheSequenceDidNotRunToItsEnd) {
  EXPECT_EQ(made_record().break_off, "");
  analysis::RawTrace tripped;
  tripped.trip.emplace();
  EXPECT_EQ(made_record(tripped).break_off, "tripped");
  analysis::RawTrace trace;
  trace.break_off = analysis::BreakOff::cover_open;
  EXPECT_EQ(made_record(trace).break_off, "cover_open");
  trace.break_off = analysis::BreakOff::ended_by_service;
  EXPECT_EQ(made_record(trace).break_off, "ended_by_service");
}

TEST(RecordOf, CanBeSealedAsItComes) {
  EXPECT_FALSE(schema::encode(schema::Fact(made_record())).empty());
}

TEST(BrokenOffRecord, IsVoidHoldsTheUnitAndNamesTheRestart) {
  const Record record = broken_off_record(made_start("QH1"), 7, {.utc_ms = 5}, "endgate 0.1.0");
  EXPECT_EQ(record.verdict, "void");
  EXPECT_EQ(record.standing, "hold");
  ASSERT_EQ(record.reasons.size(), 1U);
  EXPECT_EQ(record.reasons[0].code, "broken_off_daemon_restarted");
  EXPECT_EQ(record.start_position, 7);
  EXPECT_EQ(record.finished.utc_ms, 5);
}

TEST(PastTests, CarryMetricsWithTheirSignedCauses) {
  const std::vector<schema::StoredRecord> stored{
      {.position = 8, .head = {}, .record = made_record()}};
  const auto tests = past_tests(stored, {});
  ASSERT_EQ(tests.size(), 1U);
  EXPECT_EQ(tests[0].verdict, Verdict::undecided);
  EXPECT_EQ(tests[0].purpose, "production");
  ASSERT_EQ(tests[0].metrics.size(), 2U);
  EXPECT_EQ(tests[0].metrics[0].parts[1].u, -8e-6);
  EXPECT_EQ(tests[0].metrics[1].value, std::nullopt);
  EXPECT_EQ(tests[0].metrics[1].missing_reason, "no curve");
}

// One that is entered while a test runs lies before no test.
TEST(PastTests, KnowWhetherARepairOrAReturnLiesBetween) {
  std::vector<schema::StoredRecord> stored;
  for (const schema::Position started : {2, 5, 9}) {
    stored.push_back({.position = started + 2, .head = {}, .record = made_record()});
    stored.back().record.start_position = started;
  }
  const auto tests = past_tests(stored, {.repairs = {8}, .returns = {1, 6}});
  EXPECT_FALSE(tests[0].after_repair);
  EXPECT_FALSE(tests[1].after_repair);
  EXPECT_TRUE(tests[2].after_repair);
  EXPECT_TRUE(tests[0].after_return);
  EXPECT_FALSE(tests[1].after_return);
  EXPECT_FALSE(tests[2].after_return) << "it was entered while the test before ran";
}

TEST(PastTests, RefuseAVerdictThatIsNone) {
  std::vector<schema::StoredRecord> stored{{.position = 8, .head = {}, .record = made_record()}};
  stored[0].record.verdict = "perhaps";
  EXPECT_EQ(test::fault_of([&] { (void)past_tests(stored, {}); }),
            schema::StoreFault::Kind::damaged);
}

TEST(HealthWords, AreTheReasonCodesWithoutTheirFamily) {
  EXPECT_EQ(word_of(analysis::HealthState::good), "good");
  EXPECT_EQ(word_of(analysis::HealthState::out_of_range), "out_of_range");
}

}  // namespace
}  // namespace endgate::daemon

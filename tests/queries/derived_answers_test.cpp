// Does every question about many tests get the same answer, bit for bit, from the packed columns as
// from the records?

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "daemon/queries/batch_trend.h"
#include "daemon/queries/capability_told.h"
#include "daemon/queries/trend_columns.h"
#include "daemon/queries/what_if.h"
#include "daemon/queries/yield_told.h"
#include "schema/trend_file.h"
#include "tests/support/made_facts.h"
#include "tests/support/temporary_folder.h"

namespace endgate::daemon {
namespace {

using schema::TrendWriter;

// 400 tests of two models with everything a column may hold or miss.
class RandomStore {
 public:
  RandomStore() {
    for (int i = 0; i < 400; ++i) keep(i);
    for (int batch = 0; batch < 8; batch += 2)
      writer_.append(schema::Lots{.subject_kind = "batch",
                                  .subject = "b" + std::to_string(batch),
                                  .parts = {{"reed", batch < 4 ? "A" : "B"}},
                                  .by = "Ada"});
    writer_.append(
        schema::Lots{.subject_kind = "unit", .subject = "QH7", .parts = {{"reed", "C"}}});
  }
  [[nodiscard]] const std::filesystem::path& folder() const { return folder_.path(); }
  void catch_up(std::size_t records) {
    const schema::StoreReader truth(folder());
    TrendWriter(folder()).catch_up(truth, records);
  }

 private:
  bool chance(double share) { return std::bernoulli_distribution(share)(random_); }
  template <class... Texts>
  std::string one_of(Texts... texts) {
    const std::vector<std::string> all{texts...};
    return all[std::uniform_int_distribution<std::size_t>(0, all.size() - 1)(random_)];
  }
  schema::TestStart start(int number) {
    schema::TestStart start =
        test::made_start("QH" + std::to_string(number % 300), number / 300 + 1);
    start.model = number % 3 == 0 ? "P1-20-12" : "P1-60-12";
    start.batch = chance(0.1) ? "" : "b" + std::to_string(number / 50);
    start.bench = one_of("north", "south");
    start.purpose = one_of("production", "production", "production", "retest", "reference", "lab");
    start.operator_name = one_of("Ada", "Ben", "");
    start.at.utc_ms += number * 3'600'000LL;
    return start;
  }
  void keep(int number) {
    schema::Record record;
    record.start = start(number);
    record.start_position = writer_.append(record.start);
    record.verdict = one_of("pass", "pass", "pass", "fail", "undecided", "void");
    record.standing = "hold";
    record.software = number < 200 ? "1.0" : "1.1";
    const double value = 8e-4 + 2e-5 * std::normal_distribution<double>()(random_);
    schema::MetricValue metric = test::made_metric("fad_400", value);
    if (chance(0.1)) metric.value.reset();
    if (chance(0.1)) metric.u.reset();
    if (chance(0.5)) metric.parts = {{"bench", 2e-6}, {"random", 1e-6 * (1 + number)}};
    record.metrics = {metric};
    if (chance(0.9)) record.limits.push_back(limit("fad_400", value, record.verdict));
    if (chance(0.3)) record.limits.push_back(limit("current_600", 3, one_of("pass", "fail")));
    if (chance(0.2)) record.limits.push_back(limit("fad_400", value, "pass"));
    if (!record.limits.empty() && chance(0.2)) record.limits.back().warn = true;
    if (record.verdict == "fail") record.reasons = {{"below_lower", "fad_400", "flow is low"}};
    if (record.verdict == "void")
      record.break_off =
          one_of("stopped_by_person", "emergency_stop", "ended_by_service", "silence", "");
    if (chance(0.1)) record.would_have_been = "fail";
    record.context_ids = {"bench north@1", "limits P1-60-12@" + std::to_string(number / 150)};
    if (chance(0.9)) record.context_ids.push_back("calibration " + record.start.bench + "@2");
    writer_.append(std::move(record), std::nullopt);
  }
  schema::LimitAsWas limit(const std::string& metric, double value, const std::string& outcome) {
    schema::LimitAsWas limit{.metric = metric, .lower = 7.8e-4, .outcome = outcome};
    limit.pass_band = limit.fail_band = chance(0.8) ? 1.645 * 0.01 * value : 0;
    if (chance(0.3)) limit.upper = 9e-4;
    return limit;
  }

  test::TemporaryFolder folder_;
  schema::StoreWriter writer_{folder_.path()};
  std::mt19937 random_{11};
};

void expect_same(const statistics::Factor& a, const statistics::Factor& b) {
  EXPECT_EQ(a.name, b.name);
  EXPECT_EQ(a.levels, b.levels);
  EXPECT_EQ(a.of_row, b.of_row);
}

void expect_same(const MetricColumns& a, const MetricColumns& b) {
  EXPECT_EQ(a.columns.position, b.columns.position);
  EXPECT_EQ(a.columns.time_utc_ms, b.columns.time_utc_ms);
  EXPECT_EQ(a.columns.value, b.columns.value);
  EXPECT_EQ(a.columns.u, b.columns.u);
  expect_same(a.columns.batch, b.columns.batch);
  expect_same(a.columns.bench, b.columns.bench);
  ASSERT_EQ(a.columns.causes.size(), b.columns.causes.size());
  for (std::size_t i = 0; i < a.columns.causes.size(); ++i)
    expect_same(a.columns.causes[i], b.columns.causes[i]);
  ASSERT_EQ(a.checks.size(), b.checks.size());
  for (std::size_t i = 0; i < a.checks.size(); ++i) {
    EXPECT_EQ(a.checks[i].bench, b.checks[i].bench);
    EXPECT_EQ(a.checks[i].unit, b.checks[i].unit);
    EXPECT_EQ(a.checks[i].value, b.checks[i].value);
    EXPECT_EQ(a.checks[i].u, b.checks[i].u);
  }
}

struct Answers {
  MetricColumns columns{};
  CapabilityTold capability{};
  YieldTold yield{};
  std::optional<WhatIf> what_if{};
};

Answers ask(const std::filesystem::path& folder, const TrendFilter& filter) {
  const schema::StoreReader store(folder);
  return {columns_of(store, filter, "fad_400"), *capability_of(store, filter, "fad_400"),
          yield_of(store, filter), what_if(store, filter, {.metric = "fad_400", .lower = 8e-4})};
}

void expect_same(const Answers& a, const Answers& b) {
  expect_same(a.columns, b.columns);
  EXPECT_EQ(a.capability.values, b.capability.values);
  EXPECT_EQ(a.capability.mean, b.capability.mean);
  EXPECT_EQ(a.capability.sigma_within, b.capability.sigma_within);
  EXPECT_EQ(a.capability.bounds.lower, b.capability.bounds.lower);
  EXPECT_EQ(a.capability.bounds.upper, b.capability.bounds.upper);
  EXPECT_EQ(a.yield.first_pass.count, b.yield.first_pass.count);
  EXPECT_EQ(a.yield.final_pass.count, b.yield.final_pass.count);
  EXPECT_EQ(a.yield.void_tests.count, b.yield.void_tests.count);
  ASSERT_EQ(a.yield.reasons.size(), b.yield.reasons.size());
  ASSERT_EQ(a.yield.stops.size(), b.yield.stops.size());
  for (std::size_t i = 0; i < a.yield.stops.size(); ++i) {
    EXPECT_EQ(a.yield.stops[i].person, b.yield.stops[i].person);
    EXPECT_EQ(a.yield.stops[i].stopped.count, b.yield.stops[i].stopped.count);
    EXPECT_EQ(a.yield.stops[i].would_have_failed.count, b.yield.stops[i].would_have_failed.count);
  }
  ASSERT_EQ(a.what_if.has_value(), b.what_if.has_value());
  if (!a.what_if) return;
  EXPECT_EQ(a.what_if->changed.of, b.what_if->changed.of);
  EXPECT_EQ(a.what_if->from_to, b.what_if->from_to);
  EXPECT_EQ(a.what_if->serials, b.what_if->serials);
  EXPECT_EQ(a.what_if->expected_pass, b.what_if->expected_pass);
  EXPECT_EQ(a.what_if->expected_pass_u, b.what_if->expected_pass_u);
}

TEST(DerivedAnswers, AreThoseOfTheRecordsBitForBit_D2) {
  RandomStore store;
  const std::int64_t middle = test::made_start("A", 1).at.utc_ms + 200 * 3'600'000LL;
  const std::vector<TrendFilter> filters = {
      {.model = "P1-60-12"},
      {.model = "P1-60-12", .bench = "north"},
      {.model = "P1-60-12", .batch = "b3"},
      {.model = "P1-20-12", .purpose = ""},
      {.model = "P1-60-12", .purpose = "reference", .since_utc_ms = middle},
      {.model = "P1-60-12", .before_utc_ms = middle},
      {.model = "P9"},
      {.purpose = ""}};
  std::vector<Answers> from_records;
  for (const TrendFilter& filter : filters) from_records.push_back(ask(store.folder(), filter));
  EXPECT_GT(from_records[0].columns.columns.rows(), 50U);
  EXPECT_GT(from_records[0].columns.checks.size(), 10U);
  EXPECT_TRUE(from_records[0].what_if && from_records[0].what_if->changed.count > 0);

  for (const std::size_t caught_up : {150, 1000}) {  // the rest comes from truth
    store.catch_up(caught_up);
    for (std::size_t i = 0; i < filters.size(); ++i)
      expect_same(ask(store.folder(), filters[i]), from_records[i]);
  }
}

// Bytes that only the derived file could know: proof that it was asked at all.
TEST(DerivedAnswers, ComeFromTheColumnsOnceTheyAreThere) {
  RandomStore store;
  store.catch_up(1000);
  const schema::StoreReader truth(store.folder());
  ASSERT_TRUE(schema::TrendReader::open(truth));
  EXPECT_EQ(schema::TrendReader::open(truth)->position(), truth.last_position());
}

void expect_same(const std::vector<statistics::BatchSummary>& a,
                 const std::vector<statistics::BatchSummary>& b) {
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    EXPECT_EQ(a[i].batch, b[i].batch);
    EXPECT_EQ(a[i].n, b[i].n);
    EXPECT_EQ(a[i].mean, b[i].mean);
    EXPECT_EQ(a[i].sigma, b[i].sigma);
    EXPECT_EQ(a[i].p50, b[i].p50);
    EXPECT_EQ(a[i].running_mean, b[i].running_mean);
  }
}

TEST(BatchTrend, IsTheSameFromColumnsAndFromRecordsAndNearlyFromRollups) {
  RandomStore store;
  const schema::StoreReader truth(store.folder());
  const BatchQuestion question{.model = "P1-60-12", .metric = "fad_400"};
  const auto from_records = batch_trend(truth, question);
  EXPECT_GE(from_records.size(), 8U);
  store.catch_up(150);
  expect_same(batch_trend(truth, question), from_records);
  store.catch_up(1000);
  expect_same(batch_trend(truth, question), from_records);
  const auto rolled = rolled_batch_trend(*schema::TrendReader::open(truth), question, 100);
  ASSERT_EQ(rolled.size(), from_records.size());
  for (const auto& batch : from_records) {
    const auto same = std::ranges::find(rolled, batch.batch, &statistics::BatchSummary::batch);
    ASSERT_NE(same, rolled.end()) << batch.batch;
    EXPECT_EQ(same->n, batch.n);
    EXPECT_NEAR(same->mean, batch.mean, 1e-12 * batch.mean);
    EXPECT_NEAR(same->sigma, batch.sigma, 1e-9 * batch.mean);
    EXPECT_NEAR(same->p1, batch.p1, 0.004 * batch.mean);
  }
}

TEST(DerivedAnswers, ALotEnteredLaterIsSeenAtOnce_D3) {
  test::TemporaryFolder folder;
  schema::StoreWriter writer(folder.path());
  schema::Record record;
  record.start = test::made_start("QH1", 1);
  record.start.batch = "b1";
  record.start_position = writer.append(record.start);
  record.verdict = "pass";
  record.metrics = {test::made_metric("fad_400", 8e-4)};
  writer.append(record, std::nullopt);
  const schema::StoreReader truth(folder.path());
  TrendWriter(folder.path()).catch_up(truth);
  writer.append(schema::Lots{.subject_kind = "batch", .subject = "b1", .parts = {{"reed", "R-9"}}});
  const MetricColumns found = columns_of(truth, {.model = record.start.model}, "fad_400");
  ASSERT_FALSE(found.columns.causes.empty());
  EXPECT_EQ(found.columns.causes.front().name, "reed lot");
  EXPECT_EQ(found.columns.causes.front().levels.front(), "R-9");
}

}  // namespace
}  // namespace endgate::daemon

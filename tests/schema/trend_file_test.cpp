// Does trend.db follow truth, and is it made anew when it does not belong to it?

#include "schema/trend_file.h"

#include <gmock/gmock.h>

#include <cmath>
#include <fstream>
#include <random>

#include "schema/backup.h"
#include "tests/support/made_facts.h"
#include "tests/support/shim_vfs.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

using testing::ElementsAre;

class TrendFile : public testing::Test {
 protected:
  void keep(int number, const std::string& batch, double value,
            const std::string& verdict = "pass") {
    TestStart start = test::made_start("QH" + std::to_string(number), 1);
    start.batch = batch;
    Record record;
    record.start_position = store().append(start);
    record.start = start;
    record.verdict = verdict;
    record.standing = "hold";
    record.metrics = {test::made_metric("fad_400", value)};
    store().append(std::move(record), std::nullopt);
  }
  StoreWriter& store() {
    if (!writer_) writer_ = std::make_unique<StoreWriter>(folder());
    return *writer_;
  }
  void close() { writer_.reset(); }
  [[nodiscard]] const std::filesystem::path& folder() const { return folder_.path(); }
  [[nodiscard]] StoreReader truth() const { return StoreReader(folder()); }

  void catch_up(std::size_t records_at_most = 100) {
    const StoreReader reader(folder());
    TrendWriter writer(folder());
    while (!writer.catch_up(reader, records_at_most).done()) {
    }
  }
  [[nodiscard]] std::vector<std::string> serials() const {
    const StoreReader reader(folder());
    std::vector<std::string> found;
    if (const auto derived = TrendReader::open(reader))
      derived->for_each_test(
          "P1-60-12", "fad_400", INT64_MIN,
          [&](const TrendTest& test, const TrendMetric&) { found.emplace_back(test.serial); });
    return found;
  }

 private:
  test::TemporaryFolder folder_;
  std::unique_ptr<StoreWriter> writer_;
};

TEST_F(TrendFile, CatchesUpInAnyPortionsAndSaysHowFar) {
  for (int i = 0; i < 5; ++i) keep(i, "b1", 8e-4);
  const StoreReader reader(folder());
  TrendWriter writer(folder());
  const auto first = writer.catch_up(reader, 2);
  EXPECT_FALSE(first.done());
  EXPECT_EQ(first.last_position, reader.last_position());
  EXPECT_THAT(serials(), ElementsAre("QH0", "QH1"));
  while (!writer.catch_up(reader, 2).done()) {
  }
  EXPECT_THAT(serials(), ElementsAre("QH0", "QH1", "QH2", "QH3", "QH4"));
  EXPECT_EQ(TrendReader::open(reader)->position(), reader.last_position());
}

TEST_F(TrendFile, GoesOnWhereAnEarlierWriterStopped) {
  keep(0, "b1", 8e-4);
  catch_up();
  keep(1, "b1", 9e-4, "void");
  catch_up();
  EXPECT_THAT(serials(), ElementsAre("QH0", "QH1"));
}

TEST_F(TrendFile, MoreTestsThanASegmentHoldsStayInOrder) {
  store();
  for (int i = 0; i < 1100; ++i) keep(i, i < 700 ? "b1" : "b2", 8e-4 + 1e-7 * i);
  catch_up(300);
  EXPECT_EQ(serials().size(), 1100U);
  EXPECT_EQ(serials().back(), "QH1099");
  const StoreReader reader(folder());
  std::vector<std::size_t> sizes;
  TrendReader::open(reader)->for_each_run(
      "P1-60-12", "fad_400", "production",
      [&](std::string_view, std::span<const double> values) { sizes.push_back(values.size()); });
  EXPECT_THAT(sizes, ElementsAre(700, 400));
}

TEST_F(TrendFile, WritesNothingToTruthAndWaitsForNoSyncOfIt_D5) {
  test::ShimVfs shim;
  for (int i = 0; i < 30; ++i) keep(i, "b", 8e-4);
  shim.reset_counts();
  catch_up(7);
  EXPECT_GT(shim.bytes["trend.db-wal"], 0) << "the count works";
  for (const auto& [file, bytes] : shim.bytes) EXPECT_TRUE(file.starts_with("trend.db")) << file;
  for (const auto& [file, syncs] : shim.syncs) EXPECT_TRUE(file.starts_with("trend.db")) << file;
  const TrendWriter beside(folder());
  shim.reset_counts();
  keep(31, "b", 8e-4);
  EXPECT_EQ(shim.all_syncs(), 2) << "start and record, as without it";
  close();  // before the layer it writes through goes
}

TEST_F(TrendFile, OfAnotherTruthIsEmptiedAndMadeAnew_D1) {
  keep(0, "b1", 8e-4);
  catch_up();
  close();
  const test::TemporaryFolder other;
  {
    StoreWriter elsewhere(other.path());
    TestStart start = test::made_start("QX", 1);
    Record record{.start_position = elsewhere.append(start), .start = start, .verdict = "pass"};
    elsewhere.append(record, std::nullopt);
  }
  for (const std::string tail : {"", "-wal"})
    std::filesystem::copy_file(folder() / (kTrendFileName + tail),
                               other.path() / (kTrendFileName + tail));
  const StoreReader reader(other.path());
  EXPECT_FALSE(TrendReader::open(reader)) << "a reader must not believe it";
  TrendWriter writer(other.path());
  EXPECT_TRUE(writer.catch_up(reader).emptied);
  std::vector<std::string> found;
  TrendReader::open(reader)->for_each_test(
      "P1-60-12", "", INT64_MIN,
      [&](const TrendTest& test, const TrendMetric&) { found.emplace_back(test.serial); });
  EXPECT_THAT(found, ElementsAre("QX"));
}

TEST_F(TrendFile, AnythingElseInItsPlaceIsReplaced_D4) {
  keep(0, "b1", 8e-4);
  std::ofstream(folder() / kTrendFileName) << "not a database, but longer than its head would be, "
                                              "so that nobody takes it for a new and empty one";
  EXPECT_TRUE(serials().empty());
  catch_up();
  EXPECT_THAT(serials(), ElementsAre("QH0"));
}

TEST_F(TrendFile, CanBeDeletedWhileItIsRead) {
  keep(0, "b1", 8e-4);
  catch_up();
  const StoreReader reader(folder());
  const auto derived = TrendReader::open(reader);
  delete_trend_file(folder());
  EXPECT_FALSE(TrendReader::open(reader));
  EXPECT_EQ(derived->rollups("P1-60-12", "fad_400", "production", RollupSpan::batch, 9).size(), 1U);
  catch_up();
  EXPECT_THAT(serials(), ElementsAre("QH0"));
}

TEST_F(TrendFile, RollsUpPerBatchAndBenchDayWhateverThePortions) {
  std::mt19937 random(5);
  std::normal_distribution<double> normal(8e-4, 2e-5);
  std::vector<double> all;
  for (int i = 0; i < 200; ++i) keep(i, i < 120 ? "b1" : "b2", all.emplace_back(normal(random)));
  keep(200, "b2", 1, "void");
  catch_up(33);
  const StoreReader reader(folder());
  const auto derived = TrendReader::open(reader);
  const auto batches = derived->rollups("P1-60-12", "fad_400", "production", RollupSpan::batch, 10);
  ASSERT_EQ(batches.size(), 2U);
  EXPECT_EQ(batches[0].batch, "b1");
  EXPECT_EQ(batches[1].rollup.n, 80) << "void tests do not count";
  std::vector<double> first(all.begin(), all.begin() + 120);
  double mean = 0, square = 0;
  for (const double value : first) mean += value / 120;
  for (const double value : first) square += (value - mean) * (value - mean);
  EXPECT_NEAR(batches[0].rollup.mean, mean, 1e-12 * mean);
  EXPECT_NEAR(batches[0].rollup.sigma(), std::sqrt(square / 119), 1e-9 * mean);
  std::ranges::sort(first);
  EXPECT_NEAR(batches[0].rollup.quantile(0.5), first[59], 0.004 * mean) << "right to a bin";
  EXPECT_EQ(batches[0].rollup.least, first.front());
  const auto days =
      derived->rollups("P1-60-12", "fad_400", "production", RollupSpan::bench_day, 10);
  ASSERT_EQ(days.size(), 1U);
  EXPECT_EQ(days[0].bench, "north");
  EXPECT_EQ(days[0].rollup.n, 200);
  EXPECT_EQ(days[0].day, test::made_start("A", 1).at.utc_ms / 86'400'000);
}

TEST(TrendRollup, BinsAreOrderedAndNarrow) {
  std::mt19937 random(7);
  std::uniform_real_distribution<double> exponent(-20, 20);
  double before = -1e30;
  std::vector<double> values = {0};
  for (int i = 0; i < 1000; ++i)
    values.push_back((i % 2 ? 1 : -1) * std::pow(10, exponent(random)));
  std::ranges::sort(values);
  for (const double value : values) {
    EXPECT_LE(bin_of(before), bin_of(value));
    EXPECT_LE(std::abs(lower_edge_of(bin_of(value))), std::abs(value));
    EXPECT_NEAR(lower_edge_of(bin_of(value)), value, 0.004 * std::abs(value));
    before = value;
  }
}

}  // namespace
}  // namespace endgate::schema

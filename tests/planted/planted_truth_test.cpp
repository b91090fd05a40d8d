// What was planted in a plant's history is what its questions answer: which lot, which bench, since
// when, how much, which limit, which units came back.
//
// The truth is read here and nowhere else; the questions see the store alone.  The tests of forty
// weeks cost minutes, so this is a group of its own (tests/run.sh --group planted).

#include <gmock/gmock.h>

#include <algorithm>
#include <cstdlib>
#include <iostream>
#include <map>
#include <memory>
#include <set>

#include "daemon/line/limit_history.h"
#include "daemon/queries/returns_told.h"
#include "daemon/queries/trend_told.h"
#include "daemon/queries/where_used.h"
#include "fixtures/history/plant_history.h"
#include "tests/support/temporary_folder.h"

namespace endgate::history {
namespace {

const std::filesystem::path kScenario = std::string(ENDGATE_SOURCE_DIR) + "/fixtures/scenario";
const std::string kModel = "P1-60-12";
constexpr std::size_t kNear = 4;  // batches by which a date may be off

// One model and six units of a batch on each bench: a smaller plant could not tell 1 %.
constexpr int kUnitsOfBatch = 12;
PlanOptions options_of(std::uint64_t seed) {
  return {.seed = seed, .batches = 28, .units_per_batch = kUnitsOfBatch, .models = 1};
}

// Made once for all tests; ENDGATE_PLANTED names a folder of stores made before, "2648", "7".
class PlantedStore {
 public:
  explicit PlantedStore(std::uint64_t seed) : truth(plan_of(options_of(seed)).truth) {
    if (const char* made = std::getenv("ENDGATE_PLANTED")) {
      folder_ = std::filesystem::path(made) / std::to_string(seed);
      return;
    }
    folder_ = own_.path() / "store";
    make_plant_history(kScenario, folder_, options_of(seed), 2, [](const HistoryProgress&) {});
  }
  [[nodiscard]] schema::StoreReader reader() const { return schema::StoreReader(folder_); }

  const PlantedTruth truth;

 private:
  test::TemporaryFolder own_;
  std::filesystem::path folder_;
};

class PlantedTruthTest : public testing::TestWithParam<std::uint64_t> {
 protected:
  static const PlantedStore& planted() {
    static std::map<std::uint64_t, std::unique_ptr<PlantedStore>> made;
    auto& store = made[GetParam()];
    if (!store) store = std::make_unique<PlantedStore>(GetParam());
    return *store;
  }
  static const PlantedTruth& truth() { return planted().truth; }

  static daemon::TrendTold told(const std::string& metric) {
    auto answer = *daemon::told_of(planted().reader(), {.model = kModel}, metric);
    std::cout << metric << ": " << daemon::sentence_of_side(answer) << " "
              << daemon::sentence_of_causes(answer) << "\n";
    return answer;
  }
  static std::size_t index_of(const daemon::TrendTold& told, const std::string& batch) {
    return static_cast<std::size_t>(
        std::ranges::find(told.batches, batch, &daemon::BatchPoint::batch) - told.batches.begin());
  }
};

// What leaks back grows with the pressure, what the meter reads does not.
TEST_P(PlantedTruthTest, TheReedLotThatLeaksIsTheFirstCauseWhereItLeaksMost) {
  const daemon::TrendTold all = told("fad_800");
  ASSERT_FALSE(all.causes.causes.empty());
  EXPECT_FALSE(all.causes.none);
  EXPECT_EQ(all.causes.causes.front().factor, "reed lot");
  EXPECT_EQ(all.causes.causes.front().level, truth().bad_reed_lot);
  EXPECT_LT(all.causes.causes.front().shift, 0);
}

TEST_P(PlantedTruthTest, TheMeterThatDriftsIsABenchWithItsDateAndSize) {
  for (const char* metric : {"fad_0", "fad_200", "fad_400"}) {
    const daemon::TrendTold all = told(metric);
    EXPECT_EQ(all.side.said, statistics::ProductOrBench::Said::bench);
    EXPECT_EQ(all.side.bench, truth().drifting_bench);
    const std::size_t from = index_of(all, truth().drifts_from_batch);
    EXPECT_NEAR(static_cast<double>(all.side.since_batch), static_cast<double>(from), kNear);
    // The mean of the last three batches, of what the metric was.
    const double by_now = truth().drift_rel_per_batch *
                          static_cast<double>(all.batches.size() - from - 1) *
                          all.batches.front().mean;
    EXPECT_NEAR(all.side.change, by_now, 3 * all.side.u);
    EXPECT_LT(all.side.change, 0);
    EXPECT_EQ(all.causes.causes.front().factor, "bench");
    EXPECT_EQ(all.causes.causes.front().level, truth().drifting_bench);
  }
}

TEST_P(PlantedTruthTest, WhatTheMeterDoesNotMeasureAccusesNoBench) {
  for (const char* metric : {"speed_600", "current_600"}) {
    const daemon::TrendTold all = told(metric);
    EXPECT_NE(all.side.said, statistics::ProductOrBench::Said::bench);
  }
}

TEST_P(PlantedTruthTest, TheRevisedLimitIsInTheHistoryOnce) {
  int revised = 0;
  for (const daemon::LimitChange& change : daemon::limit_history(planted().reader(), kModel)) {
    if (change.version == 1) continue;
    ++revised;
    EXPECT_EQ(change.metric, "fad_400");
    EXPECT_NE(change.by, change.second_by);
  }
  EXPECT_EQ(revised, 1);
}

TEST_P(PlantedTruthTest, TheUnitsThatCameBackAreCounted) {
  const std::set<std::string> back(truth().returned_serials.begin(),
                                   truth().returned_serials.end());
  const daemon::ReturnsTold told = daemon::returns_of(planted().reader(), {.model = kModel});
  EXPECT_EQ(told.back.count + told.never_passed, static_cast<std::int64_t>(back.size()));
  EXPECT_EQ(told.not_stated + told.too_long, 0);
}

TEST_P(PlantedTruthTest, TheLotLeadsToTheUnitsOfItsBatches) {
  const std::set<std::string> bad(truth().bad_reed_batches.begin(), truth().bad_reed_batches.end());
  const auto units = daemon::where_used(planted().reader(), truth().bad_reed_lot);
  EXPECT_EQ(units.size(), kUnitsOfBatch * bad.size());
  for (const daemon::UnitWithLot& unit : units) EXPECT_TRUE(bad.contains(unit.through));
}

INSTANTIATE_TEST_SUITE_P(Seeds, PlantedTruthTest, testing::Values(2648, 7));

}  // namespace
}  // namespace endgate::history

// Is the invented plant's plan what the trends are promised?

#include "fixtures/history/plant_plan.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <set>

namespace endgate::history {
namespace {

std::vector<PlannedTest> tests_of(const PlantPlan& plan) {
  std::vector<PlannedTest> all;
  for (const PlannedBatch& batch : plan.batches)
    all.insert(all.end(), batch.tests.begin(), batch.tests.end());
  return all;
}

TEST(PlantPlan, IsTheSameForTheSameSeedAndAnotherForAnother) {
  EXPECT_EQ(text_of(plan_of({.seed = 5}).truth), text_of(plan_of({.seed = 5}).truth));
  EXPECT_NE(text_of(plan_of({.seed = 5}).truth), text_of(plan_of({.seed = 6}).truth));
}

TEST(PlantPlan, HasFortyBatchesAndAboutTwoThousandTestsInOrderOfTime) {
  const PlantPlan plan = plan_of({});
  EXPECT_EQ(plan.batches.size(), 40u);
  EXPECT_GT(tests_of(plan).size(), 1900u);
  for (const PlannedBatch& batch : plan.batches)
    EXPECT_TRUE(std::ranges::is_sorted(batch.tests, {}, &PlannedTest::at_utc_ms)) << batch.name;
}

TEST(PlantPlan, PlantsTheBadReedsInEveryProductionTestOfTheirBatchesAndInNoOther) {
  for (const std::uint64_t seed : {1, 2, 3, 2648}) {
    const PlantPlan plan = plan_of({.seed = seed});
    ASSERT_EQ(plan.truth.bad_reed_batches.size(), 3u);
    const std::set<std::string> bad(plan.truth.bad_reed_batches.begin(),
                                    plan.truth.bad_reed_batches.end());
    for (const PlannedTest& test : tests_of(plan)) {
      if (test.purpose != "production") continue;
      EXPECT_EQ(test.fault.has_value(), bad.contains(test.batch));
    }
    for (const PlannedBatch& batch : plan.batches)
      EXPECT_EQ(batch.lots[1].lot == plan.truth.bad_reed_lot, bad.contains(batch.name));
  }
}

TEST(PlantPlan, LetsOneFlowMeterDriftFromItsBatchOnAndNoOther) {
  const PlantPlan plan = plan_of({.seed = 9});
  std::map<std::string, int> drifting;
  for (const PlannedBatch& batch : plan.batches)
    for (const PlannedTest& test : batch.tests)
      if (test.flow_meter_drift_rel != 0) {
        ++drifting[test.bench];
        EXPECT_GE(batch.name, plan.truth.drifts_from_batch);
      }
  EXPECT_EQ(drifting.size(), 1u);
  EXPECT_TRUE(drifting.contains(plan.truth.drifting_bench));
}

TEST(PlantPlan, BringsElevenUnitsBackAfterTheyWereBorn) {
  for (const std::uint64_t seed : {1, 2, 3, 2648}) {
    const PlantPlan plan = plan_of({.seed = seed});
    int returned = 0;
    std::map<std::string, std::int64_t> born;
    for (const PlannedTest& test : tests_of(plan)) {
      if (test.purpose == "production") born.emplace(test.serial, test.at_utc_ms);
      if (test.purpose != "returned") continue;
      ++returned;
      ASSERT_TRUE(born.contains(test.serial)) << test.serial;
      EXPECT_LT(born[test.serial], test.at_utc_ms);
      EXPECT_TRUE(test.came_back.has_value());
    }
    EXPECT_EQ(returned, 11);
  }
}

TEST(PlantPlan, TestsAReferenceUnitOnEachBenchBeforeTheBatch) {
  for (const PlannedBatch& batch : plan_of({}).batches) {
    EXPECT_EQ(batch.tests[0].purpose, "reference");
    EXPECT_EQ(batch.tests[1].purpose, "reference");
    EXPECT_NE(batch.tests[0].bench, batch.tests[1].bench);
  }
}

}  // namespace
}  // namespace endgate::history

// Does the coverage report count what it says?

#include "fixtures/history/coverage.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>

#include "fixtures/history/stated_errors.h"

namespace endgate::history {
namespace {

TestedUnit unit_with(double value, double u, std::string fault = "") {
  TestedUnit unit;
  unit.model = "P1-60-12";
  unit.fault = std::move(fault);
  unit.truth["fad_400"] = 10;
  analysis::Metric metric;
  metric.id = "fad_400";
  metric.value = value;
  metric.u = u;
  unit.evaluation.metrics.push_back(metric);
  return unit;
}

TEST(Coverage, CountsIntervalsThatHoldTheTruthOfUnitsWithoutAFault) {
  const Shares shares = shares_inside(
      {unit_with(10.1, 0.1), unit_with(9.8, 0.1), unit_with(30, 0.1, "ring_wear"), TestedUnit{}});
  const Share share = shares.at("P1-60-12").at("fad_400");
  EXPECT_EQ(share.trials, 2);
  EXPECT_EQ(share.hits, 1);  // 9.8 + 1.96 * 0.1 stays below 10
}

TEST(Coverage, BinomialIntervalIsThatOfItsDefinition) {
  // No hit in 20 leaves a share p with (1 - p)^20 = 0.025 (Clopper and Pearson 1934; from memory).
  const Share none{0, 20, 0};
  EXPECT_EQ(none.low(), 0);
  EXPECT_NEAR(std::pow(1 - none.high(), 20), 0.025, 1e-9);
  const Share all{20, 20, 0};
  EXPECT_NEAR(all.low(), 1 - none.high(), 1e-12);
  EXPECT_EQ(all.high(), 1);
}

TEST(Coverage, TwoDaysAgreeWhenTheirDifferenceIsInsideBothUncertainties) {
  const std::vector<TestedUnit> cold{unit_with(10, 0.1), unit_with(10, 0.1), unit_with(10, 0.1)};
  std::vector<TestedUnit> hot{unit_with(10.27, 0.1), unit_with(10.28, 0.1), unit_with(10, 0.1)};
  hot[2].evaluation.metrics[0].value.reset();
  const Share share = shares_agreeing(cold, hot).at("P1-60-12").at("fad_400");
  EXPECT_EQ(share.trials, 2);
  EXPECT_EQ(share.hits, 1);  // 1.96 * 0.1 * root 2 = 0.277
  EXPECT_EQ(share.missing, 1);
}

// The same cause on both days moved both alike: only what it moved differently is left.
TEST(Coverage, WhatBothDaysHaveInCommonExcusesNothing) {
  std::vector<TestedUnit> cold{unit_with(10, 0.1)}, hot{unit_with(10.1, 0.1)};
  for (auto* day : {&cold, &hot})
    (*day)[0].evaluation.metrics[0].parts = {{"constants north@1", 0.098}};
  const Share common = shares_agreeing(cold, hot).at("P1-60-12").at("fad_400");
  EXPECT_EQ(common.hits, 0);  // own u of either: 0.02
  hot[0].evaluation.metrics[0].parts[0].cause = "constants north@2";
  EXPECT_EQ(shares_agreeing(cold, hot).at("P1-60-12").at("fad_400").hits, 1);
}

TEST(Coverage, TheBudgetIsTheRootMeanSquareOfEachCauseOverTheTruth) {
  std::vector<TestedUnit> units{unit_with(10, 0.5), unit_with(10, 0.5)};
  units[0].evaluation.metrics[0].parts = {{"random", 0.3}, {"model", -0.4}};
  units[1].evaluation.metrics[0].parts = {{"random", 0.1}};
  const auto budget = budget_of(units).at("P1-60-12").at("fad_400");
  EXPECT_NEAR(budget.at("random"), std::sqrt((0.09 + 0.01) / 2) / 10, 1e-12);
  EXPECT_NEAR(budget.at("model"), std::sqrt(0.16 / 2) / 10, 1e-12);
}

TEST(StatedErrors, MoveEveryConstantByItsOwnUncertaintyAndNothingElse) {
  analysis::Context known;
  known.bench.receivers.resize(1);
  known.bench.receivers[0].volume_m3 = 3e-4;
  known.bench.receivers[0].u_volume_rel = 0.01;
  known.model.thermal.winding_k_w = 0.4;
  known.model.thermal.u_winding_rel = 0.1;
  known.model.thermal.flow_per_head_k = -5e-4;
  known.model.thermal.u_rel_of_correction = 0.1;
  double volume = 0, winding = 0, both = 0;
  constexpr int kDraws = 4000;
  for (int i = 0; i < kDraws; ++i) {
    analysis::Context drawn = known;
    draw_stated_errors(drawn, 100 + static_cast<std::uint64_t>(i));
    const double v = drawn.bench.receivers[0].volume_m3 / 3e-4 - 1;
    const double w = drawn.model.thermal.winding_k_w / 0.4 - 1;
    volume += v * v / kDraws;
    winding += w * w / kDraws;
    both += v * w / kDraws;
    EXPECT_EQ(drawn.bench.seal_volume_m3, known.bench.seal_volume_m3);  // no u is stated
  }
  EXPECT_NEAR(std::sqrt(volume), 0.01, 0.0005);  // 4000 draws: 1.1 %
  EXPECT_NEAR(std::sqrt(winding), 0.1, 0.005);
  EXPECT_NEAR(both, 0, 5e-5);
}

}  // namespace
}  // namespace endgate::history

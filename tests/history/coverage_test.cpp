// Does the coverage report count what it says?

#include "fixtures/history/coverage.h"

#include <gtest/gtest.h>

#include <cmath>

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

}  // namespace
}  // namespace endgate::history

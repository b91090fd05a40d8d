// analysis/guard_band.h against the tail of the normal and against the rule of the cheaper answer.

#include <gtest/gtest.h>

#include <limits>

#include "analysis/distributions.h"
#include "analysis/guard_band.h"
#include "tests/analysis/judge_published.h"

namespace endgate::analysis {
namespace {

TEST(GuardBand, AtItsFactorAUnitOnItsLimitIsWrongWithTheStatedRisk) {
  for (const double risk : {0.5, 0.05, 0.0227501319, 1e-6})
    EXPECT_NEAR(normal_cdf(-*guard_factor_at_risk(risk)), risk, 1e-12);
}

// Source: ILAC-G8:09/2019, w = U, as fixtures/published/conformity/jcgm-106.toml tells.
TEST(GuardBand, TheWholeExpandedUncertaintyBelongsToItsPublishedRisk) {
  const double risk =
      judge::published_number("conformity/jcgm-106.toml", "risk_on_the_limit.w_2_u");
  EXPECT_NEAR(*guard_factor_at_risk(risk), 2, 1e-8);
}

TEST(GuardBand, AtItsFactorBothAnswersCostTheSameOnAverage) {
  for (const double ratio : {0.2, 1.0, 19.0, 1000.0}) {
    const double wrong = normal_cdf(-*guard_factor_at_cost(ratio));  // P(bad) at the guard band
    EXPECT_NEAR(ratio * wrong, 1 - wrong, 1e-9) << ratio;
  }
}

TEST(GuardBand, RefusesWhatIsNoRiskAndNoRatio) {
  for (const double risk : {0.0, -0.1, 0.51, std::numeric_limits<double>::quiet_NaN()})
    EXPECT_FALSE(guard_factor_at_risk(risk)) << risk;
  for (const double ratio : {0.0, -1.0, std::numeric_limits<double>::infinity()})
    EXPECT_FALSE(guard_factor_at_cost(ratio)) << ratio;
}

}  // namespace
}  // namespace endgate::analysis

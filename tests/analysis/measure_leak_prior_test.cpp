// A flow that is graded must not be one that was shrunk towards the nominal unit.
//
// The leak L of the curve has a prior: the measured back leak, and never less than the nominal
// leak of the model (conclusion.cpp).  How far does the nominal one reach into the flows?  Three times
// the nominal leak moved them by at most 0.13 u: at 400 kPa, between the holds, of a unit without any
// leak; at the holds by less than 0.01 u.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "analysis/evaluate.h"
#include "tests/analysis/measure_trace.h"

namespace endgate::analysis {
namespace {

void expect_same_flows(const made::Truth& truth, const made::Manners& manners) {
  const Context context = made::context(manners);
  Context three_times = context;
  three_times.model.nominal.leak_m3_s_pa2 *= 3;
  const RawTrace trace = made::trace(truth, manners, context);
  const Evaluation nominal = evaluate(trace, context);
  const Evaluation moved = evaluate(trace, three_times);
  for (const Metric& metric : nominal.metrics) {
    if (!metric.id.starts_with("fad_")) continue;
    const auto again = std::ranges::find(moved.metrics, metric.id, &Metric::id);
    ASSERT_TRUE(metric.value && again->value) << metric.id;
    const bool at_a_hold = metric.id == "fad_0" || metric.id == "fad_600" || metric.id == "fad_800";
    EXPECT_LT(std::abs(*again->value - *metric.value) / *metric.u, at_a_hold ? 0.01 : 0.15)
        << metric.id;
  }
}

TEST(LeakPrior, OfThreeTimesTheNominalLeakHardlyMovesAFlow) {
  expect_same_flows({}, {});
  expect_same_flows({}, {.ramp = true});
  expect_same_flows({.leak_m3_s = 0, .back_leak_m3_s_pa2 = 0}, {.ramp = true});
}

}  // namespace
}  // namespace endgate::analysis

// Something moved: which of all that changed moved with it?
//
// MODEL   mean of a cell = level + constant difference of its bench + shift x
//                          + batch (random) + cell (random) + scatter of single tests / sqrt n
//
//   x is one hypothesis: "this lot", "this calibration", "this operator", "this bench since batch
//   k" (a step or a ramp), "the product since batch k" (nothing recorded explains it).  What is
//   constant inside a batch is judged against what batches differ by anyway, what differs inside
//   a batch against the smaller scatter there; both variances are estimated with the hypothesis
//   (restricted maximum likelihood).  Batches that resemble their neighbours widen the interval
//   by (1 + phi)/(1 - phi).
//
// ANSWER  p of each hypothesis, adjusted for all of them (Benjamini and Hochberg); none when the
//   least is above 5 %.  Probabilities compare the hypotheses among each other and with "none":
//   each family of hypotheses (reed lots, calibrations, ...) gets the same weight beforehand.
//   Hypotheses whose x cannot be told apart by these tests are named together.
//
// Measured by tests/statistics/trend_cause_test.cpp on seeded histories.  Needs `kLeastBatches`
// batches.  The newest `kMostBatches` are looked at, and of a factor the levels with the most tests
// (trend_hypothesis.h), so that time and memory are bounded however long a plant has been running.

#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "analysis/statistics/test_columns.h"

namespace endgate::statistics {

inline constexpr std::size_t kLeastBatches = 10, kMostBatches = 120;

struct TrendCause {
  std::string factor{}, level{};             // "reed lot", "R-118"; "bench", "south"; "product", ""
  std::optional<std::size_t> since_batch{};  // of a bench or the product
  bool ramp = false;                         // it grew from there on; `shift` is by now
  double shift = 0, u = 0;                   // metric's unit
  double p = 1, p_adjusted = 1;
  double probability = 0;
  std::vector<std::string> inseparable{};  // "motor lot M-7": moves with the same tests
};

struct TrendCauses {
  std::vector<TrendCause> causes{};  // the most likely first, at most ten
  double probability_none = 1;
  bool none = true;
  std::string refusal{};        // not empty: too few batches
  std::size_t first_batch = 0;  // earlier ones were not looked at
};
// `go_on` is called between steps and ends the question by throwing.  `benches`: those whose drift may
// be a cause, every one unless told.  Units alone cannot tell one bench that reads less from another
// that reads more; reference checks can (product_or_bench.h), and then only one of them is asked.
[[nodiscard]] TrendCauses trend_causes(const TestColumns& columns,
                                       const std::function<void()>& go_on = {},
                                       const std::optional<std::vector<std::string>>& benches = {});

}  // namespace endgate::statistics

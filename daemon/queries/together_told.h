// Which batches of a model are unusual in several metrics together, and by which of them?
//
// Tests that are not void and have every one of the metrics; batches in order of first appearance,
// tests without a batch left out.  Statistics: analysis/statistics/joint_batches.h.

#pragma once

#include <string>
#include <variant>
#include <vector>

#include "analysis/statistics/joint_batches.h"
#include "daemon/queries/trend_columns.h"

namespace endgate::daemon {

// Three deliveries say what the coefficients of the curve say, and are numbers people know.
inline constexpr const char* kCurve = "curve";

struct TogetherTold {
  std::vector<std::string> metrics{};
  std::vector<std::string> names{};       // of the batches
  std::size_t tests = 0, incomplete = 0;  // tests that lack one of the metrics
  statistics::JointBatches joint{};
  std::string refusal{};  // a sentence: nothing was computed
};

// "fad_400 current_600" or "curve", with `first` in front if it is not among them.  A sentence when
// a name is no metric, or when there is only one.
using MetricList = std::variant<std::vector<std::string>, std::string>;
[[nodiscard]] MetricList metrics_together(const std::string& first, const std::string& words);

[[nodiscard]] TogetherTold together_of(const schema::StoreReader& store, const TrendFilter& filter,
                                       const std::vector<std::string>& metrics);

// "None of 40 batches lies beyond the limit in flow at 200 kPa, ... together." / "2 of 40 batches
// ..."
[[nodiscard]] std::string sentence_of(const TogetherTold& told);
[[nodiscard]] std::vector<std::size_t> signals_of(const TogetherTold& told);
// The metrics that a batch owes most of its distance to: "flow at 400 kPa 3.2 lower and current at
// 600 kPa 2.8 higher than the others of these metrics let expect, in standard deviations"
[[nodiscard]] std::string words_of_batch(const TogetherTold& told, std::size_t batch);

}  // namespace endgate::daemon

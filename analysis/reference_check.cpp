#include "analysis/reference_check.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "analysis/distributions.h"
#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

struct Earlier {
  std::vector<double> values;
  double own_u = 0;  // largest of them
};

struct SplitU {
  double own = 0, shared = 0;
};

bool is_own(const std::string& cause) { return cause == "random" || cause.starts_with("random/"); }

SplitU split(const Metric& metric) {
  const auto square_if = [&](bool own) {
    return sum_over(metric.parts.size(), [&](std::size_t i) {
      const UncertaintyPart& part = metric.parts[i];
      return is_own(part.cause) == own ? part.u * part.u : 0.0;
    });
  };
  return {std::sqrt(square_if(true)), std::sqrt(square_if(false))};
}

const Metric* metric_in(const ReferenceTest& test, const std::string& id) {
  const auto found = std::ranges::find(test.metrics, id, &Metric::id);
  return found == test.metrics.end() || !found->value || !found->u ? nullptr : &*found;
}

Earlier earlier_of(const std::string& id, std::span<const ReferenceTest> tests) {
  Earlier earlier;
  for (const ReferenceTest& test : tests)
    if (const Metric* metric = metric_in(test, id)) {
      earlier.values.push_back(*metric->value);
      earlier.own_u = std::max(earlier.own_u, split(*metric).own);
    }
  return earlier;
}

double widened_scatter(std::span<const double> values, double mean) {
  const auto freedom = static_cast<double>(values.size() - 1);
  const double square = sum_over(
      values.size(), [&](std::size_t i) { return (values[i] - mean) * (values[i] - mean); });
  return std::sqrt(square / freedom) * 0.5 * student_coverage_factor(kTwoSigma, freedom).value();
}

std::optional<HeldMetric> hold(const Metric& metric, std::span<const ReferenceTest> tests,
                               bool same_calibration) {
  const Earlier earlier = earlier_of(metric.id, tests);
  if (!metric.value || !metric.u || earlier.values.size() < kFewestEarlier) return std::nullopt;
  const auto count = static_cast<double>(earlier.values.size());
  const double mean = mean_of(earlier.values).value();
  const SplitU u = split(metric);
  const double sigma = std::max({u.own, earlier.own_u, widened_scatter(earlier.values, mean)});
  const double repeated = sigma * std::sqrt(1 + 1 / count);
  return HeldMetric{.metric = metric.id,
                    .value = *metric.value,
                    .u = *metric.u,
                    .expected = mean,
                    .u_difference = std::hypot(repeated, same_calibration ? 0 : u.shared),
                    .earlier = earlier.values.size()};
}

}  // namespace

ReferenceCheck check_reference(const ReferenceTest& now, std::span<const ReferenceTest> earlier) {
  const auto newest = earlier.subspan(earlier.size() - std::min(earlier.size(), kMostEarlier));
  ReferenceCheck check;
  const bool same = !newest.empty() && newest.back().calibration == now.calibration;
  for (const Metric& metric : now.metrics)
    if (auto held = hold(metric, newest, same)) check.held.push_back(*held);
  if (check.held.empty()) return check;
  const double chance = kFalseAlarm / static_cast<double>(check.held.size());
  const double factor = normal_quantile(1 - chance / 2).value();
  check.word = ControlWord::in_control;
  for (HeldMetric& held : check.held) {
    held.allowed = factor * held.u_difference;
    if (held.out()) check.word = ControlWord::out_of_control;
  }
  return check;
}

}  // namespace endgate::analysis

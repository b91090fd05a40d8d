#include "analysis/reference_check.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "analysis/distributions.h"
#include "analysis/sum.h"
#include "analysis/uncertainty_cause.h"

namespace endgate::analysis {
namespace {

struct Earlier {
  std::vector<double> values;
  double own_u = 0;  // largest of them
};

struct SplitU {
  double own = 0, shared = 0;
};

SplitU split(const Metric& metric) {
  const auto square_if = [&](bool own) {
    return sum_over(metric.parts.size(), [&](std::size_t i) {
      const UncertaintyPart& part = metric.parts[i];
      return is_random(part.cause) == own ? part.u * part.u : 0.0;
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
                               double other_calibration) {
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
                    .u_difference = std::hypot(repeated, other_calibration * u.shared),
                    .earlier = earlier.values.size()};
}

double largest_u(const std::string& id, std::span<const ReferenceTest> tests) {
  double u = 0;
  for (const ReferenceTest& test : tests)
    if (const Metric* metric = metric_in(test, id)) u = std::max(u, *metric->u);
  return u;
}

HeldMetric beside_fellows(const Metric& metric, const Earlier& earlier,
                          std::span<const ReferenceTest> tests) {
  return {.metric = metric.id,
          .value = *metric.value,
          .u = *metric.u,
          .expected = mean_of(earlier.values).value(),
          .u_difference = std::hypot(*metric.u, largest_u(metric.id, tests)),
          .earlier = earlier.values.size()};
}

// Of normal deviates, so many of them held at once.
double factor_for(std::size_t metrics) {
  const double chance = kFalseAlarm / static_cast<double>(metrics);
  return normal_quantile(1 - chance / 2).value();
}

bool same_calibration(const ReferenceTest& left, const ReferenceTest& right) {
  return left.calibration == right.calibration;
}

// Tests under the present calibration alone, as soon as there are enough of them.
std::vector<ReferenceTest> comparable(const ReferenceTest& now,
                                      std::span<const ReferenceTest> newest) {
  std::vector<ReferenceTest> present;
  for (const ReferenceTest& test : newest)
    if (same_calibration(test, now)) present.push_back(test);
  if (present.size() >= kFewestEarlier) return present;
  return {newest.begin(), newest.end()};
}

// By this share the mean of the earlier tests errs with another calibration than this test.
double share_of_other_calibrations(const ReferenceTest& now,
                                   const std::vector<ReferenceTest>& tests) {
  if (tests.empty()) return 0;
  const auto others = std::ranges::count_if(
      tests, [&](const ReferenceTest& test) { return !same_calibration(test, now); });
  return static_cast<double>(others) / static_cast<double>(tests.size());
}

}  // namespace

ReferenceCheck check_reference(const ReferenceTest& now, std::span<const ReferenceTest> earlier) {
  const auto newest = earlier.subspan(earlier.size() - std::min(earlier.size(), kMostEarlier));
  ReferenceCheck check;
  const std::vector<ReferenceTest> compared = comparable(now, newest);
  const double other = share_of_other_calibrations(now, compared);
  for (const Metric& metric : now.metrics)
    if (auto held = hold(metric, compared, other)) check.held.push_back(*held);
  if (check.held.empty()) return check;
  const double factor = factor_for(check.held.size());
  check.word = ControlWord::in_control;
  for (HeldMetric& held : check.held) {
    held.allowed = factor * held.u_difference;
    if (held.out()) check.word = ControlWord::out_of_control;
  }
  return check;
}

std::optional<HeldMetric> unlike_fellows(const ReferenceTest& now,
                                         std::span<const ReferenceTest> earlier) {
  if (earlier.size() >= kFewestEarlier) return std::nullopt;
  std::vector<HeldMetric> held;
  for (const Metric& metric : now.metrics) {
    const Earlier values = earlier_of(metric.id, earlier);
    if (metric.value && metric.u && !values.values.empty())
      held.push_back(beside_fellows(metric, values, earlier));
  }
  if (held.empty()) return std::nullopt;
  for (HeldMetric& each : held) each.allowed = factor_for(held.size()) * each.u_difference;
  const auto worst = std::ranges::max_element(
      held, {}, [](const HeldMetric& each) { return std::abs(each.share()); });
  return worst->out() ? std::optional(*worst) : std::nullopt;
}

}  // namespace endgate::analysis

#include "analysis/standing_combine.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <vector>

#include "analysis/distributions.h"
#include "analysis/sum.h"
#include "analysis/uncertainty_cause.h"

namespace endgate::analysis {
namespace {

constexpr double kInconsistentBelow = 0.01;

bool has_value(const Metric& metric) { return metric.value && std::isfinite(*metric.value); }

// Signed sum per shared cause; random parts square by square.
struct CauseSums {
  std::map<std::string, Sum> shared;
  Sum random_square;
};

double square_of(const CauseSums& causes) {
  Sum square;
  square.add(causes.random_square.value());
  for (const auto& [cause, sum] : causes.shared) square.add(sum.value() * sum.value());
  return square.value();
}

void add_parts(const Metric& metric, CauseSums& causes) {
  for (const UncertaintyPart& part : metric.parts)
    if (is_random(part.cause))
      causes.random_square.add(part.u * part.u);
    else
      causes.shared[part.cause].add(part.u);
}

// What the parts of one metric leave unexplained of its u.
double unattributed(const Metric& metric) {
  CauseSums own;
  add_parts(metric, own);
  return std::sqrt(std::max(0.0, *metric.u * *metric.u - square_of(own)));
}

std::optional<double> u_of_mean(std::span<const Metric> present) {
  CauseSums causes;
  for (const Metric& metric : present) {
    if (!metric.u || !std::isfinite(*metric.u)) return std::nullopt;
    add_parts(metric, causes);
    causes.shared["not attributed"].add(unattributed(metric));
  }
  return std::sqrt(square_of(causes)) / static_cast<double>(present.size());
}

double random_square_of(const Metric& metric) {
  return sum_over(metric.parts.size(), [&](std::size_t i) {
    const UncertaintyPart& part = metric.parts[i];
    return is_random(part.cause) ? part.u * part.u : 0;
  });
}

// Signed u of one shared cause; a test that does not know the cause has 0 of it.
double shared_u_of(const Metric& metric, const std::string& cause) {
  return sum_over(metric.parts.size(), [&](std::size_t i) {
    return metric.parts[i].cause == cause ? metric.parts[i].u : 0;
  });
}

std::vector<std::string> shared_causes_of(std::span<const Metric> present) {
  CauseSums all;
  for (const Metric& metric : present) add_parts(metric, all);
  std::vector<std::string> causes;
  for (const auto& [cause, sum] : all.shared) causes.push_back(cause);
  return causes;
}

// Square of the u of (value i - mean): of a shared cause only what test i has more or less of it
// than the mean.
double square_of_deviation(std::span<const Metric> present, std::size_t i) {
  const double n = static_cast<double>(present.size());
  const auto mean_over = [&](const auto& term) {
    return sum_over(present.size(), [&](std::size_t k) { return term(present[k]); }) / n;
  };
  Sum square;
  square.add(random_square_of(present[i]) * (1 - 2 / n) + mean_over(random_square_of) / n);
  for (const std::string& cause : shared_causes_of(present)) {
    const auto u_of_cause = [&](const Metric& metric) { return shared_u_of(metric, cause); };
    const double more = u_of_cause(present[i]) - mean_over(u_of_cause);
    square.add(more * more);
  }
  return square.value();
}

// Chi-square of the deviations on m - 1 degrees; exact for two tests and for equal uncertainties.
bool chance_explains(std::span<const Metric> present, double mean) {
  Sum chi_square;
  const double n = static_cast<double>(present.size());
  for (std::size_t i = 0; i < present.size(); ++i) {
    const double square = square_of_deviation(present, i);
    if (!(square > 0)) return true;  // nothing is known of the scatter
    const double deviation = *present[i].value - mean;
    chi_square.add(deviation * deviation / square * (n - 1) / n);
  }
  const Outcome<double> tail = chi_square_upper_tail(chi_square.value(), n - 1);
  return !tail || *tail >= kInconsistentBelow;
}

}  // namespace

CombinedMetric combine(const std::string& id, std::span<const Metric> measured) {
  std::vector<Metric> present;
  std::copy_if(measured.begin(), measured.end(), std::back_inserter(present), has_value);
  CombinedMetric combined;
  combined.metric.id = id;
  combined.tests = present.size();
  if (present.empty()) return combined;
  const double count = static_cast<double>(present.size());
  const double mean =
      sum_over(present.size(), [&](std::size_t i) { return *present[i].value; }) / count;
  combined.metric.value = mean;
  combined.metric.u = u_of_mean(present);
  combined.metric.extrapolated =
      std::any_of(present.begin(), present.end(), [](const Metric& m) { return m.extrapolated; });
  combined.consistent = present.size() < 2 || chance_explains(present, mean);
  return combined;
}

}  // namespace endgate::analysis

#include "analysis/standing_combine.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <vector>

#include "analysis/distributions.h"
#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr double kInconsistentBelow = 0.01;

bool has_value(const Metric& metric) { return metric.value && std::isfinite(*metric.value); }

// Signed sum per shared cause; random parts square by square.
struct Causes {
  std::map<std::string, Sum> shared;
  Sum random_square;
};

double square_of(const Causes& causes) {
  Sum square;
  square.add(causes.random_square.value());
  for (const auto& [cause, sum] : causes.shared) square.add(sum.value() * sum.value());
  return square.value();
}

void add_parts(const Metric& metric, Causes& causes) {
  for (const UncertaintyPart& part : metric.parts)
    if (is_random(part.cause))
      causes.random_square.add(part.u * part.u);
    else
      causes.shared[part.cause].add(part.u);
}

// What the parts of one metric leave unexplained of its u.
double unattributed(const Metric& metric) {
  Causes own;
  add_parts(metric, own);
  return std::sqrt(std::max(0.0, *metric.u * *metric.u - square_of(own)));
}

std::optional<double> u_of_mean(std::span<const Metric> present) {
  Causes causes;
  for (const Metric& metric : present) {
    if (!metric.u || !std::isfinite(*metric.u)) return std::nullopt;
    add_parts(metric, causes);
    causes.shared["not attributed"].add(unattributed(metric));
  }
  return std::sqrt(square_of(causes)) / static_cast<double>(present.size());
}

double random_square_of(const Metric& metric) {
  Causes own;
  add_parts(metric, own);
  return own.random_square.value();
}

// Parts that all tests share cancel in the differences; the rest is taken as random, so that
// another bench or calibration between two tests is no alarm by itself.
double differing_square_of(const Metric& metric, std::span<const Metric> all) {
  Causes own;
  own.random_square.add(random_square_of(metric));
  for (const UncertaintyPart& part : metric.parts) {
    const bool everywhere = std::all_of(all.begin(), all.end(), [&](const Metric& other) {
      return std::any_of(other.parts.begin(), other.parts.end(),
                         [&](const UncertaintyPart& theirs) { return theirs.cause == part.cause; });
    });
    if (!is_random(part.cause) && !everywhere) own.shared[part.cause].add(part.u);
  }
  return square_of(own);
}

bool chance_explains(std::span<const Metric> present, double mean) {
  Sum chi_square;
  for (const Metric& metric : present) {
    const double square = differing_square_of(metric, present);
    if (!(square > 0)) return true;  // nothing is known of the scatter
    const double deviation = *metric.value - mean;
    chi_square.add(deviation * deviation / square);
  }
  const Outcome<double> tail =
      chi_square_upper_tail(chi_square.value(), static_cast<double>(present.size()) - 1);
  return !tail || *tail >= kInconsistentBelow;
}

}  // namespace

bool is_random(const std::string& cause) {
  return cause == "random" || cause.starts_with("random/");
}

CombinedMetric combine(const std::string& id, std::span<const Metric> measured) {
  std::vector<Metric> present;
  std::copy_if(measured.begin(), measured.end(), std::back_inserter(present), has_value);
  CombinedMetric combined;
  combined.metric.id = id;
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

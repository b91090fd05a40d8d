#include "analysis/limit_subject.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <map>

#include "analysis/grade_words.h"
#include "analysis/uncertainty_cause.h"

namespace endgate::analysis {
namespace {

constexpr std::string_view kAtPressure = "curve@";

Metric metric_called(std::span<const Metric> metrics, std::string_view id) {
  for (const Metric& metric : metrics)
    if (metric.id == id) return metric;
  Metric missing;
  missing.id = id;
  return missing;
}

// What a test has of each cause that is not random, signed.
std::map<std::string, double> shared_parts(const Metric& metric) {
  std::map<std::string, double> shared;
  for (const UncertaintyPart& part : metric.parts)
    if (!is_random(part.cause)) shared[part.cause] += part.u;
  return shared;
}

std::map<std::string, double> random_parts(const Metric& metric) {
  std::map<std::string, double> random;
  for (const UncertaintyPart& part : metric.parts)
    if (is_random(part.cause)) random[part.cause] = std::hypot(random[part.cause], part.u);
  for (const UncertaintyPart& part : metric.parts)  // joined parts carry the sign of the largest
    if (is_random(part.cause) && part.u < 0) random[part.cause] = -std::abs(random[part.cause]);
  return random;
}

double u_unattributed(const Metric& metric) {
  double left = *metric.u * *metric.u;
  for (const UncertaintyPart& part : metric.parts) left -= part.u * part.u;
  return std::sqrt(std::max(0.0, left));
}

double part_or_none(const std::map<std::string, double>& parts, const std::string& cause) {
  const auto found = parts.find(cause);
  return found == parts.end() ? 0 : found->second;
}

// Parts of y - slope x.
std::vector<UncertaintyPart> parts_of_distance(const Metric& y, const Metric& x, double slope) {
  std::vector<UncertaintyPart> parts;
  const auto join = [&](const std::map<std::string, double>& of_y,
                        const std::map<std::string, double>& of_x, const auto& joined) {
    std::map<std::string, double> causes = of_y;
    causes.insert(of_x.begin(), of_x.end());
    for (const auto& [cause, any] : causes)
      parts.push_back(
          {cause, joined(cause, part_or_none(of_y, cause), slope * part_or_none(of_x, cause))});
  };
  const auto apart = [](double a, double b) { return std::max(std::hypot(a, b), std::abs(a - b)); };
  join(shared_parts(y), shared_parts(x), [&](const std::string& cause, double a, double b) {
    return joins_several(cause) ? apart(a, b) : a - b;
  });
  join(random_parts(y), random_parts(x),
       [&](const std::string&, double a, double b) { return apart(a, b); });
  return parts;
}

Metric relation_of(const Limit& limit, const Relation& relation, std::span<const Metric> metrics) {
  const Metric y = metric_called(metrics, relation.metric);
  const Metric x = metric_called(metrics, relation.against);
  Metric distance;
  distance.id = limit.metric;
  if (!y.value || !x.value) {
    const Metric& lacking = y.value ? x : y;
    distance.missing_reason =
        words_of_metric(lacking.id).name +
        (lacking.missing_reason.empty() ? " was not measured" : ": " + lacking.missing_reason);
    return distance;
  }
  distance.value = *y.value - (limit.slope * *x.value + limit.intercept);
  distance.extrapolated = y.extrapolated || x.extrapolated;
  if (!y.u || !x.u) return distance;
  distance.parts = parts_of_distance(y, x, limit.slope);
  double squares = 0;
  for (const UncertaintyPart& part : distance.parts) squares += part.u * part.u;
  const double left = std::hypot(u_unattributed(y), limit.slope * u_unattributed(x));
  distance.u = std::sqrt(squares + left * left);
  return distance;
}

}  // namespace

std::string relation_subject(std::string_view metric, std::string_view against) {
  return std::string(metric) + kRelationSign + std::string(against);
}

std::string subject_at(double gauge_pa) {
  std::array<char, 32> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), gauge_pa).ptr;
  return std::string(kAtPressure) + std::string(digits.data(), end);
}

std::optional<double> gauge_pa_at(std::string_view subject) {
  if (!subject.starts_with(kAtPressure)) return std::nullopt;
  double gauge_pa = 0;
  const char* const end = subject.data() + subject.size();
  const auto [read_to, error] = std::from_chars(subject.data() + kAtPressure.size(), end, gauge_pa);
  if (error != std::errc() || read_to != end) return std::nullopt;
  return gauge_pa;
}

Metric held_metric(const Limit& limit, std::span<const Metric> metrics) {
  if (const auto relation = relation_in(limit.metric))
    return relation_of(limit, *relation, metrics);
  return metric_called(metrics, limit.metric);
}

Metric drawn_at(std::span<const DrawnPoint> drawn, double gauge_pa) {
  Metric flow;
  flow.id = subject_at(gauge_pa);
  const auto above = std::ranges::find_if(
      drawn, [&](const DrawnPoint& point) { return point.gauge_pa >= gauge_pa; });
  const bool before_all =
      above == drawn.begin() && above != drawn.end() && above->gauge_pa > gauge_pa;
  if (above == drawn.end() || before_all) {
    flow.missing_reason =
        drawn.empty() ? "there is no curve" : "the curve is not drawn at this pressure";
    return flow;
  }
  const DrawnPoint& high = *above;
  const DrawnPoint& low = above == drawn.begin() ? high : *(above - 1);
  const double span = high.gauge_pa - low.gauge_pa;
  const double share = span > 0 ? (gauge_pa - low.gauge_pa) / span : 0;
  if ((share < 0.5 ? low : high).extrapolated) {
    flow.missing_reason = "no usable hold reached this pressure";
    return flow;
  }
  flow.value = low.flow_m3_s + share * (high.flow_m3_s - low.flow_m3_s);
  flow.u = low.u_m3_s + share * (high.u_m3_s - low.u_m3_s);
  return flow;
}

}  // namespace endgate::analysis

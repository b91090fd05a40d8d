#include "analysis/cause_readings.h"

#include <cmath>

#include "analysis/metric_facts.h"

namespace endgate::analysis {
namespace {

constexpr double kReferenceGauge_pa = 600e3;

std::string kpa(double gauge_pa) { return std::to_string(std::lround(gauge_pa / 1000)); }

// A hold that was cut short has no means.
bool has_window(const OperatingPoint& point) { return point.window_end_us > point.window_start_us; }

const OperatingPoint* point_at(const Evaluation& evaluation, double gauge_pa) {
  for (const OperatingPoint& point : evaluation.points)
    if (point.target_gauge_pa == gauge_pa && has_window(point)) return &point;
  return nullptr;
}

void add_ratio(std::vector<NamedReading>& readings, const std::string& id, double above,
               double below) {
  if (below != 0 && std::isfinite(above / below)) readings.push_back({id, above / below});
}

}  // namespace

std::vector<NamedReading> cause_readings(const Evaluation& evaluation) {
  std::vector<NamedReading> readings;
  for (const Metric& metric : evaluation.metrics)
    if (metric.value) readings.push_back({metric.id, *metric.value});
  const OperatingPoint* base = point_at(evaluation, kReferenceGauge_pa);
  if (base == nullptr) return readings;
  for (const OperatingPoint& point : evaluation.points) {
    if (&point == base || !has_window(point)) continue;
    const std::string pair = "_" + kpa(point.target_gauge_pa) + "_" + kpa(kReferenceGauge_pa);
    add_ratio(readings, "current" + pair, point.supply_current_a, base->supply_current_a);
    add_ratio(readings, "speed" + pair, point.speed_rev_s, base->speed_rev_s);
  }
  return readings;
}

std::string cause_sign(const RawTrace& trace) { return trace.trip ? trace.trip->limit_id : ""; }

std::string words_of_reading(std::string_view id) {
  if (const MetricFacts* metric = facts_of_metric(id)) return std::string(metric->sentence_name);
  const std::string_view rest = id.substr(quantity_of(id).size());
  const std::size_t second = rest.find('_', 1);
  if (second == std::string_view::npos) return std::string(id);
  return std::string(quantity_of(id)) + " at " + std::string(rest.substr(1, second - 1)) +
         "\u00A0kPa against that at " + std::string(rest.substr(second + 1)) + "\u00A0kPa";
}

}  // namespace endgate::analysis

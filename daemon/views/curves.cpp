#include "daemon/views/curves.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "daemon/views/shown.h"

namespace endgate::daemon {
namespace {

constexpr double kToKpa = 0.001, kToLitrePerMinute = 60000;

std::vector<reports::BandSpot> band_of(const std::vector<LimitBandPoint>& band) {
  std::vector<reports::BandSpot> out;
  for (const LimitBandPoint& point : band) {
    reports::BandSpot spot{.pressure = point.gauge_pa * kToKpa};
    if (point.lower_m3_s) spot.lower = *point.lower_m3_s * kToLitrePerMinute;
    if (point.upper_m3_s) spot.upper = *point.upper_m3_s * kToLitrePerMinute;
    out.push_back(spot);
  }
  return out;
}

// The band as it was held against this test, with its guard.
std::vector<reports::BandSpot> band_of(const std::vector<HeldLimit>& limits) {
  std::map<double, reports::BandSpot> band;
  const auto narrow = [&](double kpa, const std::optional<double>& lower,
                          const std::optional<double>& upper, double guard) {
    reports::BandSpot& spot = band[kpa];
    spot.pressure = kpa;
    if (lower) spot.lower = std::max(spot.lower.value_or(-HUGE_VAL), *lower * kToLitrePerMinute);
    if (upper) spot.upper = std::min(spot.upper.value_or(HUGE_VAL), *upper * kToLitrePerMinute);
    spot.guard = std::max(spot.guard, guard * kToLitrePerMinute);
  };
  for (const HeldLimit& limit : limits) {
    if (const auto kpa = fad_pressure_kpa(limit.metric))
      narrow(*kpa, limit.lower, limit.upper, limit.pass_band);
    for (const HeldPoint& point : limit.band)
      narrow(point.gauge_pa * kToKpa, point.lower, point.upper, limit.pass_band);
  }
  std::vector<reports::BandSpot> out;
  for (const auto& [pressure, spot] : band) out.push_back(spot);
  return out;
}

// What decides: the first limit that did not pass, failed before undecided.
std::string deciding_metric(const std::vector<HeldLimit>& limits) {
  for (const char* outcome : {"fail", "undecided"})
    for (const HeldLimit& limit : limits)
      if (limit.outcome == outcome && !limit.warn && limit.value) return limit.metric;
  return "";
}

template <class Metrics>
std::vector<reports::MeasuredSpot> points_of(const Metrics& metrics, const std::string& decides) {
  std::vector<reports::MeasuredSpot> out;
  for (const auto& metric : metrics) {
    const auto pressure = fad_pressure_kpa(metric.id);
    if (!pressure || !metric.value) continue;
    out.push_back({.pressure = *pressure,
                   .flow = *metric.value * kToLitrePerMinute,
                   .expanded_u = kCoverage * metric.u.value_or(0) * kToLitrePerMinute,
                   .decides = metric.id == decides});
  }
  return out;
}

template <class Drawn>
std::vector<reports::CurveSpot> curve_of(const Drawn& drawn) {
  std::vector<reports::CurveSpot> out;
  for (const auto& point : drawn)
    out.push_back({.pressure = point.gauge_pa * kToKpa,
                   .flow = point.flow_m3_s * kToLitrePerMinute,
                   .expanded_u = kCoverage * point.u_m3_s * kToLitrePerMinute,
                   .extrapolated = point.extrapolated});
  return out;
}

// Of a limit on delivery: at its pressure, or at the worst of a band.
std::optional<double> pressure_kpa(const HeldLimit& limit) {
  if (limit.gauge_pa) return *limit.gauge_pa * kToKpa;
  return fad_pressure_kpa(limit.metric);
}

std::string inside_words(const std::vector<HeldLimit>& limits) {
  const HeldLimit* closest = nullptr;
  double least = 0;
  for (const HeldLimit& limit : limits) {
    const auto margin = margin_of(limit);
    if (!margin || !pressure_kpa(limit)) continue;
    if (closest != nullptr && margin->size >= least) continue;
    closest = &limit;
    least = margin->size;
  }
  if (closest == nullptr) return "Free-air delivery over outlet pressure.";
  const std::string at = reports::fixed(*pressure_kpa(*closest), 0) + reports::kNoBreak + "kPa";
  const std::string gap =
      reports::fixed(std::abs(least) * kToLitrePerMinute, 1) + reports::kNoBreak + "L/min";
  return least >= 0
             ? "Delivery lies inside its limits; closest at " + at + " with " + gap + " to spare."
             : "Delivery lies outside its limits; farthest at " + at + ", by " + gap + ".";
}

void add_so_far(reports::CurveChart& chart, const LineState& line) {
  for (const CurveSoFar& point : line.so_far) {
    const double pressure = point.gauge_pa * kToKpa;
    const double flow = point.flow_m3_s * kToLitrePerMinute;
    chart.curve.push_back({.pressure = pressure, .flow = flow});
    chart.points.push_back({.pressure = pressure, .flow = flow});
  }
  chart.description = "Delivery so far, " + std::to_string(line.so_far.size()) + " of " +
                      std::to_string(line.band.size()) + " pressures, not yet corrected.";
}

}  // namespace

reports::CurveChart curve_chart_of(const LineState& line) {
  reports::CurveChart chart{.description = "Limit band of free-air delivery over outlet pressure."};
  chart.band = band_of(line.band);
  if (line.phase == LinePhase::running || line.phase == LinePhase::storing) {
    add_so_far(chart, line);
    if (line.so_far.size() < line.band.size()) chart.unit_label.clear();
  }
  if (line.phase != LinePhase::verdict || !line.result) return chart;
  const std::vector<HeldLimit> limits = held_limits(line.result->limits, line.result->metrics);
  if (auto band = band_of(limits); band.size() > 1) chart.band = std::move(band);
  chart.curve = curve_of(line.result->drawn);
  chart.points = points_of(line.result->metrics, deciding_metric(limits));
  chart.description = inside_words(limits);
  if (!chart.curve.empty()) return chart;
  add_so_far(chart, line);
  chart.stops = true;
  return chart;
}

reports::CurveChart curve_chart_of(const schema::Record& record) {
  const std::vector<HeldLimit> limits = held_limits(record);
  reports::CurveChart chart{.description = inside_words(limits)};
  chart.band = band_of(limits);
  chart.curve = curve_of(record.drawn);
  chart.points = points_of(record.metrics, deciding_metric(limits));
  chart.unit_label = "attempt " + std::to_string(record.start.attempt);
  chart.stops = record.verdict == "void";
  return chart;
}

reports::FlatCurve flat_curve_of(const schema::Record& record) {
  const reports::CurveChart chart = curve_chart_of(record);
  return {.band = chart.band,
          .curve = chart.curve,
          .stops = chart.stops,
          .description = chart.description};
}

}  // namespace endgate::daemon

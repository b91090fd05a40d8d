#include "daemon/mapping/evaluation_parts.h"

#include "analysis/reason_codes.h"
#include "analysis/say_number.h"
#include "schema/store_fault.h"

namespace endgate::daemon {

schema::MetricValue metric_value(const analysis::Metric& metric) {
  schema::MetricValue stored{.id = metric.id,
                             .value = metric.value,
                             .u = metric.u,
                             .parts = {},
                             .extrapolated = metric.extrapolated,
                             .missing_reason = metric.missing_reason};
  for (const analysis::UncertaintyPart& part : metric.parts)
    stored.parts.push_back({.cause = part.cause, .u = part.u});
  return stored;
}

analysis::Metric metric_of(const schema::MetricValue& stored) {
  analysis::Metric metric{.id = stored.id,
                          .value = stored.value,
                          .u = stored.u,
                          .parts = {},
                          .extrapolated = stored.extrapolated,
                          .missing_reason = stored.missing_reason};
  for (const schema::UncertaintyPart& part : stored.parts)
    metric.parts.push_back({.cause = part.cause, .u = part.u});
  return metric;
}

schema::LimitAsWas limit_as_was(const analysis::LimitOutcome& outcome) {
  schema::LimitAsWas stored{.metric = outcome.metric,
                            .lower = outcome.lower,
                            .upper = outcome.upper,
                            .pass_band = outcome.pass_band,
                            .fail_band = outcome.fail_band,
                            .warn = outcome.warn,
                            .outcome = analysis::word_of(outcome.verdict),
                            .margin = outcome.margin,
                            .sentence = outcome.sentence,
                            .value = outcome.value,
                            .u = outcome.u,
                            .gauge_pa = outcome.gauge_pa};
  for (const analysis::BandOutcome& point : outcome.band)
    stored.band.push_back({.gauge_pa = point.gauge_pa,
                           .lower = point.lower,
                           .upper = point.upper,
                           .flow_m3_s = point.flow_m3_s,
                           .u_m3_s = point.u_m3_s,
                           .outcome = analysis::word_of(point.verdict)});
  return stored;
}

schema::PointAsReduced point_as_reduced(const analysis::OperatingPoint& point) {
  return {.step_id = point.step_id,
          .target_gauge_pa = point.target_gauge_pa,
          .window_start_us = point.window_start_us,
          .window_end_us = point.window_end_us,
          .discharge_pressure_abs_pa = point.discharge_pressure_abs_pa,
          .inlet_pressure_abs_pa = point.inlet_pressure_abs_pa,
          .flow_inlet_m3_s = point.flow_inlet_m3_s,
          .flow_u_random_m3_s = point.flow_u_random_m3_s,
          .storage_m3_s = point.storage_m3_s,
          .speed_rev_s = point.speed_rev_s,
          .speed_u_random_rev_s = point.speed_u_random_rev_s,
          .supply_current_a = point.supply_current_a,
          .current_u_random_a = point.current_u_random_a,
          .supply_voltage_v = point.supply_voltage_v,
          .head_temperature_k = point.head_temperature_k,
          .case_temperature_k = point.case_temperature_k,
          .inlet_temperature_k = point.inlet_temperature_k,
          .relative_humidity = point.relative_humidity,
          .drift_rel = point.drift_rel,
          .steady = point.steady,
          .note = point.note};
}

schema::CurveAsFitted curve_as_fitted(const analysis::Curve& curve) {
  schema::CurveAsFitted stored{.a_m3 = curve.a_m3,
                               .b_m3 = curve.b_m3,
                               .leak_m3_s = curve.leak_m3_s,
                               .exponent = curve.exponent,
                               .covariance = {},
                               .ratio_min = curve.ratio_min,
                               .ratio_max = curve.ratio_max,
                               .chi_square = curve.chi_square,
                               .degrees_of_freedom = curve.degrees_of_freedom,
                               .contradicted = curve.contradicted};
  for (std::size_t row = 0; row < 3; ++row)
    for (std::size_t column = 0; column < 3; ++column)
      stored.covariance[3 * row + column] = curve.covariance[row][column];
  return stored;
}

schema::DrawnPoint drawn_point(const analysis::DrawnPoint& point) {
  return {.gauge_pa = point.gauge_pa,
          .flow_m3_s = point.flow_m3_s,
          .u_m3_s = point.u_m3_s,
          .extrapolated = point.extrapolated};
}

analysis::DrawnPoint drawn_point(const schema::DrawnPoint& stored) {
  return {.gauge_pa = stored.gauge_pa,
          .flow_m3_s = stored.flow_m3_s,
          .u_m3_s = stored.u_m3_s,
          .extrapolated = stored.extrapolated};
}

schema::CauseStated cause_stated(const analysis::LikelyCause& cause) {
  return {.causes = cause.causes,
          .name = cause.name,
          .probability = cause.probability,
          .of_bench = cause.of_bench,
          .evidence = cause.evidence,
          .told_apart_by = cause.told_apart_by};
}

std::string likely_cause_words(const std::vector<analysis::LikelyCause>& causes) {
  if (causes.empty()) return "";
  return causes.front().name + ", " + analysis::say_probability(causes.front().probability);
}

schema::HealthAsFound health_as_found(const analysis::ChannelHealth& health) {
  return {.channel = health.channel_id,
          .state = word_of(health.state),
          .detail = health.detail,
          .time_us = health.time_us};
}

std::string word_of(analysis::HealthState state) {
  if (state == analysis::HealthState::good) return "good";
  constexpr std::string_view family = "channel_";
  return std::string(analysis::code_of(state).substr(family.size()));
}

analysis::Verdict verdict_of(const std::string& word) {
  using analysis::Verdict;
  for (const Verdict verdict : {Verdict::pass, Verdict::fail, Verdict::undecided, Verdict::void_})
    if (word == analysis::word_of(verdict)) return verdict;
  throw schema::StoreFault(schema::StoreFault::Kind::damaged,
                           "a record holds the verdict '" + word + "', which is none");
}

}  // namespace endgate::daemon

// Facts and traces as a test of the store needs them: plausible numbers, nothing measured.

#pragma once

#include <cmath>
#include <random>
#include <string>

#include "schema/facts.h"
#include "schema/trace.h"

namespace endgate::test {

inline constexpr std::int64_t kNovember2026 = 1'795'000'000'000;  // 2026-11-18, in ms

inline schema::TestStart made_start(const std::string& serial, std::int64_t attempt = 1) {
  return {.serial = serial,
          .attempt = attempt,
          .model = "P1-60-12",
          .bench = "north",
          .batch = "B-2648",
          .purpose = attempt == 1 ? "production" : "retest",
          .reason = "",
          .operator_name = "Ada",
          .at = {.utc_ms = kNovember2026, .synchronised = true, .max_error_us = 1200},
          .software = "0.1.0"};
}

inline schema::MetricValue made_metric(const std::string& id, double value) {
  return {.id = id,
          .value = value,
          .u = 0.01 * value,
          .parts = {{"random", 0.003 * value}, {"calibration north@1/flow", 0.009 * value}},
          .extrapolated = false,
          .missing_reason = ""};
}

// Of the size a real one has: 13 metrics, 5 points, 64 drawn points, 11 channels, 4 kB of context.
// Frozen: a test compares its seal.
inline schema::Record made_record(schema::Position start_position, const schema::TestStart& start) {
  schema::Record record;
  record.start_position = start_position;
  record.start = start;
  record.verdict = "pass";
  record.standing = "release";
  record.standing_reason = "one test, passed";
  record.cycle_s = 71.4;
  for (const char* id :
       {"fad_0", "fad_200", "fad_400", "fad_600", "fad_800", "current_600", "speed_600",
        "volumetric_efficiency_400", "specific_energy_400", "back_leak", "seal_leak"}) {
    record.metrics.push_back(made_metric(id, 9.1e-4));
    record.limits.push_back({.metric = id,
                             .lower = 8e-4,
                             .pass_band = 1e-5,
                             .fail_band = 1e-5,
                             .outcome = "pass",
                             .margin = 1.1e-4,
                             .sentence = std::string(id) + " is 54.6 L/min, limit 48.0 L/min"});
  }
  record.metrics.push_back({.id = "dead_head", .missing_reason = "curve is contradicted"});
  for (int gauge = 0; gauge <= 800; gauge += 200)
    record.points.push_back({.step_id = "hold_" + std::to_string(gauge),
                             .target_gauge_pa = 1000.0 * gauge,
                             .window_start_us = 20'000'000,
                             .window_end_us = 26'000'000,
                             .discharge_pressure_abs_pa = 101325 + 1000.0 * gauge,
                             .steady = true});
  record.curve = schema::CurveAsFitted{.a_m3 = 2e-5,
                                       .b_m3 = 2e-6,
                                       .leak_m3_s = 1e-7,
                                       .exponent = 1.25,
                                       .ratio_min = 1,
                                       .ratio_max = 9};
  for (int i = 0; i < 64; ++i)
    record.drawn.push_back({.gauge_pa = 13000.0 * i, .flow_m3_s = 1e-3 - 1e-5 * i, .u_m3_s = 1e-5});
  for (int i = 0; i < 11; ++i)
    record.health.push_back({.channel = "channel" + std::to_string(i), .state = "good"});
  record.context_ids = {"bench north@1", "model P1-60-12@1", "limits P1-60-12@1"};
  record.context_bytes.assign(4000, 0x5a);
  record.finished = {.utc_ms = start.at.utc_ms + 71'400, .synchronised = true};
  record.software = "0.1.0";
  record.simulated = true;
  return record;
}

// `channels` of `seconds` at 50 Hz: a ramp, ripple and noise of `sigma` counts; one poll round
// gives all channels one time, which jitters by up to a millisecond.
inline schema::Trace made_trace(std::size_t channels, double seconds, double sigma, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0.0, sigma);
  const auto count = static_cast<std::size_t>(seconds * 50);
  std::vector<std::int64_t> times;
  for (std::size_t i = 0; i < count; ++i)
    times.push_back(static_cast<std::int64_t>(20'000 * i + 1000 * (random() % 2)));
  schema::Trace trace;
  for (std::size_t c = 0; c < channels; ++c) {
    schema::TraceColumn column;
    column.channel = "channel" + std::to_string(c);
    column.time_us = times;
    column.quality.assign(count, 0);
    for (std::size_t i = 0; i < count; ++i) {
      const double t = static_cast<double>(i) / 50;
      const double ideal = 20'000 * (1 - std::exp(-t / 20)) + 30 * std::sin(2 * t);
      column.raw.push_back(std::llround(ideal + noise(random)));
    }
    trace.columns.push_back(std::move(column));
  }
  trace.marks.assign(900, 0x11);
  return trace;
}

inline bool same(const schema::Trace& a, const schema::Trace& b) {
  if (a.columns.size() != b.columns.size() || a.marks != b.marks) return false;
  for (std::size_t i = 0; i < a.columns.size(); ++i) {
    const schema::TraceColumn& x = a.columns[i];
    const schema::TraceColumn& y = b.columns[i];
    if (x.channel != y.channel || x.raw_kind != y.raw_kind || x.time_us != y.time_us ||
        x.raw != y.raw || x.quality != y.quality)
      return false;
  }
  return true;
}

}  // namespace endgate::test

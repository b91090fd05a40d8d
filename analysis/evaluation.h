// What came out of one test?  Plain values from analysis::evaluate, in the order they are made.

#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace endgate::analysis {

enum class HealthState : std::uint8_t {
  good = 0,
  missing,   // no such channel in the trace
  silent,    // no good sample for longer than allowed
  no_value,  // the device's no-value code
  out_of_range,
  stuck,
  too_fast,    // rate of change implausible
  time_sick,   // time stamps stand still or step back
  spiky,       // too many single odd samples
  noisy,       // far noisier than its noise model, where no unit can make noise
  zero_shift,  // does not read zero at rest, or no longer
  jumped,      // its level changed from one moment to the next, where nothing real can
  implausible  // contradicts other channels whatever the unit is like
};

struct ChannelHealth {
  std::string channel_id;
  HealthState state = HealthState::good;
  std::string detail;  // "silent for 0.4 s from 12.3 s"
  std::optional<std::int64_t> time_us;
};

// Uncertainty by cause.  `cause` is "random", "calibration north@1/flow", "correction thermal",
// ...: comparisons under the same cause cancel it.  `u` is signed so that shared causes add
// coherently.
struct UncertaintyPart {
  std::string cause;
  double u = 0;
};

// Means over the steady stretch of one hold.
struct OperatingPoint {
  std::string step_id;
  double target_gauge_pa = 0;
  std::int64_t window_start_us = 0;
  std::int64_t window_end_us = 0;
  double discharge_pressure_abs_pa = 0;
  double inlet_pressure_abs_pa = 0;  // barometer
  double flow_inlet_m3_s = 0;        // free-air delivery at the actual inlet state
  double flow_u_random_m3_s = 0;     // receiver and meter corrections done
  double storage_m3_s = 0;           // the receiver's share in flow_inlet, already inside
  double speed_rev_s = 0;
  double speed_u_random_rev_s = 0;
  double supply_current_a = 0;
  double current_u_random_a = 0;
  double supply_voltage_v = 0;
  double head_temperature_k = 0;
  double case_temperature_k = 0;
  double inlet_temperature_k = 0;
  double relative_humidity = 0;
  double drift_rel = 0;  // of flow over the window
  bool steady = false;
  std::string note;  // why not steady; of a bench without a tacho, where the speed comes from
};

// q(r, N) = N (a - b (r^(1/n) - 1)) - L (r^2 - 1), at inlet state; a, b, L >= 0.
struct Curve {
  double a_m3 = 0;
  double b_m3 = 0;
  double leak_m3_s = 0;                               // L
  double exponent = 1;                                // n
  std::array<std::array<double, 3>, 3> covariance{};  // order a, b, L; random part
  double ratio_min = 1;                               // fitted range of r
  double ratio_max = 1;
  double chi_square = 0;
  int degrees_of_freedom = 0;
  bool contradicted = false;   // chi-square beyond 99 %
  bool refuted = false;        // beyond 99.99 %
  std::vector<double> shared;  // found of each shared cause, in its u (analysis/curve.h)
};

// One point of the curve as drawn, at reference conditions.
struct DrawnPoint {
  double gauge_pa = 0;
  double flow_m3_s = 0;
  double u_m3_s = 0;  // standard, all causes
  bool extrapolated = false;
};

struct Metric {
  std::string id;
  std::optional<double> value;  // SI; missing is missing
  std::optional<double> u;      // standard, all causes
  std::vector<UncertaintyPart> parts;
  bool extrapolated = false;
  std::string missing_reason;  // when value is absent
};

enum class Verdict : std::uint8_t { pass = 0, fail = 1, undecided = 2, void_ = 3 };

// Codes are listed in schema/README.md; the sentence names metric, value, u, limit and guard band.
struct Reason {
  std::string code;      // "below_lower", "channel_silent", ...
  std::string subject;   // metric or channel id
  std::string sentence;  // plain, for a person
};

// One point of a band, with the curve there.
struct BandOutcome {
  double gauge_pa = 0;
  std::optional<double> lower, upper;       // m3/s
  std::optional<double> flow_m3_s, u_m3_s;  // of the curve; missing where it is not drawn
  Verdict verdict = Verdict::undecided;
};

// One limit held against what it is on (analysis/limit_subject.h).
struct LimitOutcome {
  std::string metric;
  Verdict verdict = Verdict::undecided;  // pass, fail or undecided
  bool warn = false;
  std::optional<double> lower, upper;  // as in the limit set
  double pass_band = 0;                // w
  double fail_band = 0;                // w'
  std::optional<double> margin;        // to the nearest bound, > 0 inside
  std::string sentence;
  // Of what is no metric, and so stands nowhere else: what was held against the bounds.
  std::optional<double> value{}, u{};
  std::optional<double> gauge_pa{};  // of a band: its worst point, which bounds and value are of
  std::vector<BandOutcome> band{};
};

struct Grade {
  Verdict verdict = Verdict::void_;
  std::vector<Reason> reasons;  // the deciding one first
  std::vector<LimitOutcome> limits;
  std::string would_have_been;  // for a void: "would have failed: flow at 400 kPa", else empty
  std::string label{};          // of a pass: the class that it reached; empty: none
};

// Causes that this test cannot tell apart, with what speaks for them (analysis/likely_cause.h).
struct LikelyCause {
  std::vector<std::string> causes;  // ids of the causes table, "bench_<channel>", "ordinary", ...
  std::string name;                 // "Inlet filter or suction reed"
  double probability = 0;
  bool of_bench = false;      // the bench is to blame, not the unit
  std::string evidence;       // one sentence
  std::string told_apart_by;  // what would separate the members; empty for a single cause
};

struct Evaluation {
  std::vector<ChannelHealth> health;  // one per channel of the context
  std::vector<OperatingPoint> points;
  std::optional<Curve> curve;
  std::string curve_refusal;      // when absent
  std::vector<DrawnPoint> drawn;  // 64 points at reference conditions
  std::vector<Metric> metrics;
  Grade grade;
  std::vector<LikelyCause> causes;  // likeliest first; empty unless a limit was broken
};

constexpr const char* word_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::pass:
      return "pass";
    case Verdict::fail:
      return "fail";
    case Verdict::undecided:
      return "undecided";
    case Verdict::void_:
      return "void";
  }
  return "void";
}

}  // namespace endgate::analysis

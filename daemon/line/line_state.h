// What does the line page of one bench have to say?  Facts only; words are made in daemon/views.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "analysis/evaluation.h"
#include "analysis/standing.h"
#include "daemon/bench/bench.h"

namespace endgate::daemon {

enum class LinePhase {
  free,     // scan a serial
  ready,    // identified, may start
  again,    // has a pass or an unrepaired fail: a reason is needed
  refused,  // the last scan was refused
  running,
  storing,     // last sample in, not yet kept
  verdict,     // the record is durable
  out_of_use,  // bench or storage at fault
  press_stop,  // motor does not obey
};

struct RailStep {
  std::string id, name;
  enum class Mark { to_come, now, done, broken } mark = Mark::to_come;
};

struct CurveSoFar {  // while running: mean of each completed hold, uncorrected; display only
  double gauge_pa = 0, flow_m3_s = 0;
};

struct LimitBandPoint {
  double gauge_pa = 0;
  std::optional<double> lower_m3_s, upper_m3_s;
};

struct LineResult {      // phase verdict
  std::string verdict;   // pass, fail, undecided, void
  std::string sentence;  // the deciding reason
  std::vector<analysis::Reason> reasons;
  std::vector<analysis::LimitOutcome> limits;  // failed first, then closest
  std::vector<analysis::Metric> metrics;
  std::vector<analysis::DrawnPoint> drawn;
  std::vector<analysis::OperatingPoint> points;
  std::string standing, standing_reason;
  std::int64_t position = 0;
  std::optional<double> cycle_s;
  std::vector<analysis::LikelyCause> causes;  // likeliest first
  bool kept_samples = false;                  // a start that never ran has none
  std::string would_have_been;                // of a void: "would have failed: flow at 400 kPa"
  std::string check_outcome;                  // of a reference test, once it is kept as a check:
  std::string check_sentence;                 // learning, in_control, out_of_control; what is read
};

struct LineState {
  std::uint64_t version = 0;  // rises with every change
  std::string bench, bench_name;
  LinePhase phase = LinePhase::free;
  std::string serial, model, batch, purpose, retest_reason;
  std::int64_t attempt = 0;
  double expected_s = 0;
  std::vector<RailStep> rail;
  std::optional<double> seconds_left;
  std::vector<LimitBandPoint> band;
  std::vector<CurveSoFar> so_far;
  BenchLive live;
  std::optional<LineResult> result;
  std::string message, code;   // refused, out_of_use, again: what was read, what is wrong
  std::string reference_name;  // of the reference unit on the bench: "R1"
  std::string earlier;  // ready, again: "Passed on 2026-11-25 10:42, bench north, attempt 1."
  std::vector<std::string> reasons_to_choose;  // again
  std::vector<std::string> notices;            // what is due on the bench; from scan to start
  std::string ignored_scan;                    // running: the scan that was ignored
  std::string last_unit;                       // free: "QH2648-0116-M, pass"
  bool simulated = false;
};

// A test runs and nothing is heard of its bench, not even whether its motor is off.
[[nodiscard]] bool not_heard(const LineState& line);

}  // namespace endgate::daemon

// What did the bench say during one test, exactly as it arrived?
//
// A RawTrace is all there is: counts or float bits per channel with bench time and quality, and the
// steps the sequence went through with the reason each one ended.  Replay decides nothing again.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace endgate::analysis {

// How a raw number is to be read.  `count`: the integer itself.  `float32`, `float64`: IEEE bits.
enum class RawKind : std::uint8_t { count = 0, float32 = 1, float64 = 2 };

enum class Quality : std::uint8_t {
  good = 0,
  no_value = 1,     // the device said so (its no-value code, or an exception answer)
  not_arrived = 2,  // the poll was answered late or not at all; `raw` is 0 and means nothing
};

struct RawChannel {
  std::string id;  // as in the bench file
  RawKind kind = RawKind::count;
  std::vector<std::int64_t> time_us;  // bench time, strictly increasing
  std::vector<std::int64_t> raw;      // same length
  std::vector<Quality> quality;       // same length
};

enum class StepKind : std::uint8_t {
  zero = 0,
  start = 1,
  warm_up = 2,
  hold = 3,
  back_leak = 4,
  seal_leak = 5,
  vent = 6,
  pump_up = 7,
  coast_down = 8,
  cut_out = 9,
  ramp = 10,
};
inline constexpr StepKind kLastStepKind = StepKind::ramp;  // sealed kinds are read back up to here

enum class StepEnd : std::uint8_t {
  complete = 0,       // its end condition was met
  bench_time_limit,   // the limit in bench time came first
  steady_time_limit,  // the second limit, on the steady clock, came first
  tripped,            // an over-limit ended the test here
  broken_off,         // silence, cover, emergency stop, lost link, stop by a person, daemon gone
};

struct StepMark {
  std::string id;  // as in the model file: "hold_400"
  StepKind kind = StepKind::zero;
  double target_gauge_pa = 0;  // holds and leak steps; 0 otherwise
  std::string receiver;        // name of the receiver in use
  std::int64_t start_us = 0;   // bench time
  std::int64_t end_us = 0;
  // From here on the step's own condition held: the set point was reached (hold), the valve was
  // shut (leaks), running speed was reached (start).  Absent when it never was.
  std::optional<std::int64_t> ready_us;
  StepEnd end = StepEnd::complete;
  std::string reason;  // one plain clause when `end` is not complete
};

enum class TripAccuses : std::uint8_t { bench = 0, unit = 1 };

// An over-limit that switched the motor off.
struct Trip {
  std::string limit_id;    // as in the bench or model file: "supply_current_max"
  std::string channel_id;  // the channel that crossed it
  TripAccuses accuses = TripAccuses::bench;
  double limit_si = 0;
  double value_si = 0;
  bool upper = true;  // crossed from below
  std::int64_t time_us = 0;
  bool confirmed = false;    // the channels were healthy and a second, independent one agreed
  std::string confirmed_by;  // the second channel
};

// Why a test ended before its sequence did, when no trip did it.
enum class BreakOff : std::uint8_t {
  none = 0,
  silence,  // a channel or the device did not answer
  lost_link,
  cover_open,
  emergency_stop,
  stopped_by_person,
  clock_sick,        // the bench counter froze, stepped back or left its rate
  lease_lost,        // the bench opened the relay because the lease lapsed
  actuator_refused,  // a command was refused or its read-back disagrees
  daemon_restarted,
  not_started,       // a start condition was missing
  ended_by_service,  // it was shut down, or could not keep the samples; no person did it
};

struct RawTrace {
  std::vector<RawChannel> channels;
  std::vector<StepMark> steps;  // in order; the last one may be cut short
  std::optional<Trip> trip;
  BreakOff break_off = BreakOff::none;
  std::string break_off_detail;  // "flow was silent for 0.4 s during hold_400"
};

}  // namespace endgate::analysis

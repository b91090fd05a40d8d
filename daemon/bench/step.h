// What does one kind of step want: on entering, on each frame, and when its time is up?
//
// One small pure class per kind, all behind this interface; running_step.h keeps its mark and its
// limits, sequence.cpp runs them one after the other.  To add a kind: write step_<kind>.cpp and add
// its line to make_step.cpp.

#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/bench/sequence.h"

namespace endgate::daemon {

struct StepView {
  const BenchDefinition& bench;
  const ModelDefinition& model;
  const StepDefinition& step;
  const Frame& frame;
  std::int64_t start_us = 0;                 // bench time the step was entered
  std::optional<std::int64_t> ready_us;      // as marked so far
  bool motor_runs = false;                   // commanded on
  bool beside = false;                       // runs beside another step, which has the receiver
  std::optional<analysis::Advice> advice{};  // the newest that would end this step

  [[nodiscard]] double elapsed_s() const { return seconds_since(start_us); }
  [[nodiscard]] double dwelt_s() const { return ready_us ? seconds_since(*ready_us) : 0; }
  [[nodiscard]] double seconds_since(std::int64_t time_us) const {
    return static_cast<double>(frame.bench_time_us - time_us) / 1e6;
  }
};

struct StepOutcome {
  std::vector<ActuatorCommand> commands;
  bool ready = false;                    // the step's own condition holds; the first time counts
  std::optional<analysis::StepEnd> end;  // over; `reason` when not complete
  std::string reason;  // one plain clause; for a complete one only when it was advised
  std::optional<analysis::Trip> trip;     // ends the test
  std::optional<analysis::BreakOff> off;  // ends the test, `reason` says why
};

class Step {
 public:
  virtual ~Step() = default;
  // Commands that bring the bench into the step, in order.
  virtual std::vector<ActuatorCommand> enter(const StepView& view) = 0;
  virtual StepOutcome on_frame(const StepView& view) = 0;
  // limit_s has passed.  By default the step ends and the sequence goes on: a weak unit that never
  // reaches 800 kPa must still be graded on the rest.
  virtual StepOutcome at_limit(const StepView& view);
  // The steps it ran beside are over: the receiver is free.
  virtual std::vector<ActuatorCommand> left_alone(const StepView& view);
};

inline constexpr double kVentedGaugePa = 20'000;  // below: vented, a receiver may be chosen

// A receiver without a pressure value is not known to be vented; a bench without the channel is.
[[nodiscard]] bool is_vented(const BenchDefinition& bench, const Frame& frame);
// Read back closed; a bench without a clamp of its own has nothing to close.
[[nodiscard]] bool is_clamped(const BenchDefinition& bench, const Frame& frame);
[[nodiscard]] bool has_role(const BenchDefinition& bench, analysis::Role role);
// Did this frame bring a fresh good sample of the first channel with that role?
[[nodiscard]] bool is_fresh(const BenchDefinition& bench, const Frame& frame, analysis::Role role);
[[nodiscard]] const std::string& channel_id_of(const BenchDefinition& bench, analysis::Role role);
[[nodiscard]] bool within_tolerance(const StepView& view, double target_gauge_pa);
// Moves the receiver valve, unless the receiver stands under pressure or is the one in use.
void choose_receiver(std::vector<ActuatorCommand>& commands, const StepView& view);

std::unique_ptr<Step> make_zero_step();
std::unique_ptr<Step> make_start_step();
std::unique_ptr<Step> make_warm_up_step();
std::unique_ptr<Step> make_pump_up_step();
std::unique_ptr<Step> make_ramp_step();
std::unique_ptr<Step> make_hold_step();
std::unique_ptr<Step> make_back_leak_step();
std::unique_ptr<Step> make_seal_leak_step();
std::unique_ptr<Step> make_vent_step();

// Nothing: this kind cannot be driven yet.
[[nodiscard]] std::unique_ptr<Step> make_step(analysis::StepKind kind);

}  // namespace endgate::daemon

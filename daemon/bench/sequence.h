// What should the bench do next?  The sequence of one test as a pure state machine.
//
// In goes one Frame at a time, an Advice, or an order to stop; out come actuator commands, step
// marks and the next wake-up.  It owns no socket, timer or thread: the daemon, the lockstep harness
// and the tests drive the same object.
//
//   idle --begin()--> step 0 --frame: end condition--> step 1 ... --> finished
//                       |  frame: over-limit, interlock, step limit       ^
//                       '--------------> making safe --vented, read back--'
//
// With a TrialPlan it may go back (a loop) or leave a step or the rest of the trial out, because a
// value was reached; the mark of the step that was ended then says why and is `complete`.
//
// A step that `begins_with` an earlier one runs beside it and those that follow; its own place is
// where the sequence waits for it.  Its mark overlaps theirs.

#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "analysis/advise.h"
#include "analysis/raw_trace.h"
#include "daemon/definitions/bench_definition.h"
#include "daemon/definitions/model_definition.h"
#include "daemon/definitions/trial_plan.h"
#include "daemon/frame.h"

namespace endgate::daemon {

struct ActuatorCommand {
  std::string actuator;  // id in the bench file
  double value_si = 0;
};

struct StepProgress {
  std::size_t index = 0;  // in ModelDefinition::sequence
  std::int64_t started_us = 0;
  double expected_s = 0;
  int turn = 0;                 // of the loop around it, from 1; 0: in none
  bool motor_will_run = false;  // now or in a later step
};

struct SequenceOutput {
  std::vector<ActuatorCommand> commands;   // in order
  std::vector<analysis::StepMark> ended;   // steps that ended with this frame
  std::optional<std::int64_t> wake_at_us;  // bench time, when no frame comes before
  bool finished = false;  // motor off and vented, read back; or given up on (see pressure_watch.h)
};

class Sequence {
 public:
  Sequence(const BenchDefinition& bench, const ModelDefinition& model, const TrialPlan& plan = {});
  ~Sequence();
  Sequence(Sequence&&) noexcept;
  Sequence& operator=(Sequence&&) noexcept;

  [[nodiscard]] SequenceOutput begin(const Frame& frame);
  [[nodiscard]] SequenceOutput on_frame(const Frame& frame);
  // Taken in for the step it was asked for, as long as that is under way; acts with the next frame.
  // Late advice and advice to keep on change nothing.
  void on_advice(const analysis::Advice& advice);
  // Ends the test at once: motor off, vent; the current step is cut short.
  [[nodiscard]] SequenceOutput break_off(analysis::BreakOff cause, const std::string& detail,
                                         std::int64_t bench_time_us);
  [[nodiscard]] SequenceOutput trip(const analysis::Trip& trip);

  [[nodiscard]] StepProgress progress() const;
  // Of the step under way, end still open; null when none is.
  [[nodiscard]] const analysis::StepMark* under_way() const;
  // The step that runs beside it; null when none does.
  [[nodiscard]] const analysis::StepMark* beside() const;
  [[nodiscard]] bool motor_should_run() const;
  // A later step of this sequence switches the motor on (again).
  [[nodiscard]] bool motor_will_run() const;
  [[nodiscard]] bool making_safe() const;  // motor off was sent, not yet vented and read back
  [[nodiscard]] bool finished() const;
  // Filled at the end: what goes into RawTrace beside the columns.
  [[nodiscard]] const std::vector<analysis::StepMark>& steps() const;
  [[nodiscard]] const std::optional<analysis::Trip>& tripped() const;
  [[nodiscard]] analysis::BreakOff broken_off() const;
  [[nodiscard]] const std::string& break_off_detail() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace endgate::daemon

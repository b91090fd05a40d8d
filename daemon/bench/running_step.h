// One step while it is driven: what it wants, the mark it leaves in the trace, its two limits.
//
// Used for the step under way and for the one that runs beside it.  It drives nothing by itself: the
// sequence passes on its commands and decides what follows.  `bench` and `model` outlive it.

#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "analysis/advise.h"
#include "analysis/raw_trace.h"
#include "daemon/bench/sequence.h"
#include "daemon/bench/step.h"
#include "daemon/frame.h"

namespace endgate::daemon {

class RunningStep {
 public:
  enum class Place { own, beside };

  // Begins with this frame; `index` in the sequence of the model.
  RunningStep(const BenchDefinition& bench, const ModelDefinition& model, std::size_t index,
              const Frame& frame, Place place);

  // False: this version cannot drive its kind, and nothing below may be asked of it but its mark.
  [[nodiscard]] bool is_known() const { return step_ != nullptr; }
  [[nodiscard]] std::size_t index() const { return index_; }
  [[nodiscard]] const StepDefinition& definition() const { return model_.sequence[index_]; }
  [[nodiscard]] const analysis::StepMark& mark() const { return mark_; }

  // `motor_runs` everywhere: it is commanded on.
  [[nodiscard]] std::vector<ActuatorCommand> enter(const Frame& frame, bool motor_runs);
  void uses_receiver(std::string name) { mark_.receiver = std::move(name); }
  // Marks the first frame in which the step is ready.
  [[nodiscard]] StepOutcome on_frame(const Frame& frame, bool motor_runs);
  // limit_s of bench time has passed; then, how it ends by that.
  [[nodiscard]] bool is_at_limit(const Frame& frame) const;
  [[nodiscard]] StepOutcome at_limit(const Frame& frame, bool motor_runs);
  // steady_limit_s has passed on the steady clock, at the bench's declared rate.
  [[nodiscard]] bool is_over_steady_limit(const Frame& frame) const;
  // Bench time by which it ends or is at its limit.
  [[nodiscard]] std::int64_t limit_us() const;
  // Taken in when it would end this step, which is ready.
  void on_advice(const analysis::Advice& advice);
  // The steps it ran beside are over: from now on it is in its own place.
  [[nodiscard]] std::vector<ActuatorCommand> left_alone(const Frame& frame, bool motor_runs);

  // Its mark when it ends so, never before it began.
  [[nodiscard]] analysis::StepMark ended(analysis::StepEnd end, std::string reason,
                                         std::int64_t time_us) const;

 private:
  [[nodiscard]] StepView view(const Frame& frame, bool motor_runs) const;

  const BenchDefinition& bench_;
  const ModelDefinition& model_;
  std::size_t index_;
  Place place_;
  std::unique_ptr<Step> step_;
  analysis::StepMark mark_;
  std::chrono::steady_clock::time_point entered_;
  std::optional<analysis::Advice> advice_;  // the newest that would end it
};

}  // namespace endgate::daemon

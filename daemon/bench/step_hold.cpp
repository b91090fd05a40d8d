// Hold: the back-pressure valve keeps a pressure; ready when it is reached.  Then the gas settles
// and a steady stretch is recorded: at least settle + window of the model's rule.  From then on it
// ends with the first advice that more is of no use (analysis/advise.h).  Without advice it lasts
// at least hold_min_s, longer while the flow still drifts, at most duration_s.

#include <algorithm>

#include "daemon/bench/actuators.h"
#include "daemon/bench/advised.h"
#include "daemon/bench/drift.h"
#include "daemon/bench/step.h"

namespace endgate::daemon {
namespace {

using analysis::Role;

const analysis::ChannelFacts* flow_facts(const BenchDefinition& bench) {
  for (const ChannelDefinition& channel : bench.channels)
    if (channel.facts.role == Role::flow) return &channel.facts;
  return nullptr;
}

class HoldStep final : public Step {
 public:
  std::vector<ActuatorCommand> enter(const StepView& view) override {
    window_.emplace(flow_facts(view.bench));
    std::vector<ActuatorCommand> commands;
    command(commands, view.bench, actuator::kBackPressure, view.step.target_gauge_pa);
    return commands;
  }

  StepOutcome on_frame(const StepView& view) override {
    StepOutcome outcome;
    outcome.ready = within_tolerance(view, view.step.target_gauge_pa);
    if (!view.ready_us) return outcome;
    collect(view);
    const analysis::SteadyRule& rule = view.model.steady;
    const double window_s = rule.settle_s + rule.min_window_s;
    const double least_s = std::max(view.step.hold_min_s, window_s);
    const bool long_enough = view.dwelt_s() >= least_s;
    if (view.advice && view.dwelt_s() >= window_s) {
      outcome.end = analysis::StepEnd::complete;
      outcome.reason = advised(*view.advice);
    } else if (view.dwelt_s() >= std::max(view.step.duration_s, least_s) ||
               (long_enough && window_->settled(rule))) {
      outcome.end = analysis::StepEnd::complete;
    }
    return outcome;
  }

 private:
  void collect(const StepView& view) {
    const auto flow = view.frame.value(Role::flow);
    if (view.dwelt_s() < view.model.steady.settle_s || !flow) return;
    if (is_fresh(view.bench, view.frame, Role::flow)) window_->add(view.frame.bench_time_us, *flow);
  }

  std::optional<DriftWindow> window_;
};

}  // namespace

std::unique_ptr<Step> make_hold_step() { return std::make_unique<HoldStep>(); }

}  // namespace endgate::daemon

#include "daemon/definitions/model_sequence.h"

#include <algorithm>
#include <array>
#include <set>

#include "analysis/metric_facts.h"
#include "analysis/motor_runs.h"
#include "daemon/definitions/unique_ids.h"

namespace endgate::daemon {
namespace {

using analysis::StepKind;

// The kinds that a bench can drive (daemon/bench/make_step.cpp).
constexpr std::array<NamedValue<StepKind>, 9> kKinds{{{"zero", StepKind::zero},
                                                      {"start", StepKind::start},
                                                      {"warm_up", StepKind::warm_up},
                                                      {"hold", StepKind::hold},
                                                      {"back_leak", StepKind::back_leak},
                                                      {"seal_leak", StepKind::seal_leak},
                                                      {"vent", StepKind::vent},
                                                      {"pump_up", StepKind::pump_up},
                                                      {"ramp", StepKind::ramp}}};

constexpr NumberRange kTarget{.min = 0, .max = 2'000'000};
constexpr NumberRange kSeconds{.min = 0, .max = 3600};
constexpr NumberRange kSecondsAboveZero{.min = 0, .max = 3600, .min_excluded = true};

bool has_target(StepKind kind) {
  return kind == StepKind::hold || kind == StepKind::back_leak || kind == StepKind::seal_leak ||
         kind == StepKind::warm_up || analysis::rises(kind);
}

bool runs_on_receiver(const StepDefinition& step) {
  return has_target(step.kind) && step.kind != StepKind::seal_leak;
}

// Keys that only some kinds of step have; elsewhere they are unknown and refused.
void read_target(TomlReader& reader, StepDefinition& step) {
  if (!has_target(step.kind)) return;
  step.target_gauge_pa = reader.number("target_gauge_pa", kTarget);
  step.tolerance_gauge_pa =
      reader.number_or("tolerance_gauge_pa", step.tolerance_gauge_pa, kAboveZero);
  if (runs_on_receiver(step)) step.receiver = reader.text_or("receiver", step.receiver);
}

void read_times(TomlReader& reader, StepDefinition& step) {
  step.duration_s = reader.number("duration_s", kSeconds);
  step.limit_s = reader.number("limit_s", kSecondsAboveZero);
  step.steady_limit_s = reader.number("steady_limit_s", kSecondsAboveZero);
  if (reader.sound("limit_s") && step.limit_s <= step.duration_s)
    reader.complain("limit_s", "a number above duration_s");
  if (reader.sound("steady_limit_s") && step.steady_limit_s < step.limit_s)
    reader.complain("steady_limit_s", "at least limit_s");
}

void read_own_keys(TomlReader& reader, StepDefinition& step) {
  if (step.kind == StepKind::hold) {
    step.hold_min_s = reader.number("hold_min_s", kSecondsAboveZero);
    if (reader.sound("duration_s") && step.hold_min_s > step.duration_s)
      reader.complain("hold_min_s", "at most duration_s");
  }
  if (step.kind == StepKind::ramp) step.rise_pa_s = reader.number("rise_pa_s", kAboveZero);
  if (step.kind == StepKind::seal_leak) step.begins_with = reader.text_or("begins_with", "");
  if (step.kind == StepKind::back_leak) {
    step.let_down_to_gauge_pa = reader.number("let_down_to_gauge_pa", kTarget);
    if (reader.sound("let_down_to_gauge_pa") &&
        step.let_down_to_gauge_pa < step.target_gauge_pa - step.tolerance_gauge_pa)
      reader.complain("let_down_to_gauge_pa", "at least target_gauge_pa less the tolerance");
  }
}

StepDefinition read_step(TomlReader& reader) {
  StepDefinition step;
  step.id = reader.text("id");
  step.name = reader.text("name");
  step.kind = reader.word<StepKind>("kind", kKinds);
  read_target(reader, step);
  read_times(reader, step);
  read_own_keys(reader, step);
  return step;
}

// Where in the test a kind belongs; a sequence never steps back.
int stage_of(StepKind kind) {
  switch (kind) {
    case StepKind::zero:
      return 0;
    case StepKind::start:
      return 1;
    case StepKind::warm_up:
      return 2;
    case StepKind::hold:
    case StepKind::pump_up:
    case StepKind::ramp:
      return 3;
    case StepKind::vent:
      return 5;
    default:
      return 4;  // motor off
  }
}

std::ptrdiff_t count_of(const std::vector<StepDefinition>& steps, StepKind kind) {
  return std::ranges::count(steps, kind, &StepDefinition::kind);
}

void check_order(TomlReader& root, const std::vector<StepDefinition>& steps) {
  for (const auto& [name, kind] : {kKinds[0], kKinds[1], kKinds[6]})
    if (count_of(steps, kind) != 1)
      root.complain("step", "exactly one step of kind \"" + std::string(name) + "\"");
  for (std::size_t i = 1; i < steps.size(); ++i)
    if (stage_of(steps[i].kind) < stage_of(steps[i - 1].kind))
      root.complain("step", "zero, start, warm_up, holds, motor-off steps, vent in this order; \"" +
                                steps[i].id + "\" comes after \"" + steps[i - 1].id + "\"");
}

// Changing the receiver needs a vented one, so a test runs on one receiver; the steps that do not
// name it (start, vent) take that of the others.
void settle_receiver(TomlReader& root, std::vector<StepDefinition>& steps) {
  std::set<std::string> receivers;
  for (const StepDefinition& step : steps)
    if (runs_on_receiver(step)) receivers.insert(step.receiver);
  if (receivers.size() > 1)
    root.complain("step", "one receiver for the whole test: it is changed only while vented");
  for (StepDefinition& step : steps)
    if (!runs_on_receiver(step) && !receivers.empty()) step.receiver = *receivers.begin();
}

// What runs beside others begins after its channel was zeroed.
void check_beside(TomlReader& root, const std::vector<StepDefinition>& steps) {
  for (auto step = steps.begin(); step != steps.end(); ++step) {
    if (step->begins_with.empty()) continue;
    const auto first = std::find_if(steps.begin(), step, [&](const StepDefinition& other) {
      return other.id == step->begins_with && other.kind != StepKind::zero;
    });
    if (first == step)
      root.complain("step", "begins_with of \"" + step->id +
                                "\": the id of a step after the zero and before \"" + step->id +
                                "\"");
  }
}

void check_targets(TomlReader& root, const std::vector<StepDefinition>& steps) {
  std::set<double> targets;
  for (const StepDefinition& step : steps)
    if (step.kind == StepKind::hold && !targets.insert(step.target_gauge_pa).second)
      root.complain("step", "holds at different pressures; \"" + step.id + "\" repeats one");
}

bool is_inside_holds(double target, const std::vector<StepDefinition>& steps) {
  bool below = false;
  bool above = false;
  for (const StepDefinition& step : steps) {
    if (step.kind != StepKind::hold) continue;
    below = below || step.target_gauge_pa <= target;
    above = above || step.target_gauge_pa >= target;
  }
  return below && above;
}

}  // namespace

std::vector<StepDefinition> read_sequence(TomlReader& root) {
  std::vector<StepDefinition> steps;
  UniqueIds ids;
  root.each("step", [&](TomlReader& reader) {
    steps.push_back(read_step(reader));
    ids.expect_new(reader, "id", steps.back().id);
  });
  check_order(root, steps);
  settle_receiver(root, steps);
  check_targets(root, steps);
  check_beside(root, steps);
  return steps;
}

void check_metrics_are_measured(TomlReader& root, const std::vector<std::string>& metrics,
                                const std::vector<StepDefinition>& sequence) {
  for (const std::string& id : metrics) {
    const std::optional<double> pressure = analysis::gauge_pa_of(id);
    if (pressure && !is_inside_holds(*pressure, sequence))
      root.complain("metrics", "holds on both sides of \"" + id + "\"");
    if (id == "back_leak" && count_of(sequence, StepKind::back_leak) == 0)
      root.complain("metrics", "a step of kind \"back_leak\" for \"back_leak\"");
    if (id == "seal_leak" && count_of(sequence, StepKind::seal_leak) == 0)
      root.complain("metrics", "a step of kind \"seal_leak\" for \"seal_leak\"");
  }
}

}  // namespace endgate::daemon

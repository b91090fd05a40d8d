#include "daemon/definitions/trial_steps.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "daemon/definitions/read_over_limit.h"
#include "daemon/definitions/unique_ids.h"

namespace endgate::daemon {
namespace {

using analysis::StepKind;

constexpr std::array<NamedValue<StepKind>, 6> kTrialKinds{{{"zero", StepKind::zero},
                                                           {"start", StepKind::start},
                                                           {"run", StepKind::warm_up},
                                                           {"hold", StepKind::hold},
                                                           {"rest", StepKind::vent},
                                                           {"vent", StepKind::vent}}};
constexpr std::array<NamedValue<bool>, 2> kEndsTrial{{{"trial", true}, {"step", false}}};

constexpr NumberRange kTrialTarget{.min = 0, .max = 2'000'000};
constexpr NumberRange kTrialSeconds{.min = 0, .max = kLongestTrial_s};
constexpr NumberRange kTrialSecondsAboveZero{
    .min = 0, .max = kLongestTrial_s, .min_excluded = true};

bool runs(StepKind kind) { return kind == StepKind::warm_up || kind == StepKind::hold; }

StepDefinition read_trial_step(TomlReader& reader) {
  StepDefinition step;
  step.id = reader.text("id");
  step.name = reader.text("name");
  step.kind = reader.word<StepKind>("kind", kTrialKinds);
  if (runs(step.kind)) {
    step.target_gauge_pa = reader.number("target_gauge_pa", kTrialTarget);
    step.tolerance_gauge_pa =
        reader.number_or("tolerance_gauge_pa", step.tolerance_gauge_pa, kAboveZero);
    step.receiver = reader.text_or("receiver", step.receiver);
  }
  if (step.kind == StepKind::hold)
    step.hold_min_s = reader.number("hold_min_s", kTrialSecondsAboveZero);
  step.duration_s = reader.number("duration_s", kTrialSeconds);
  step.limit_s = reader.number("limit_s", kTrialSecondsAboveZero);
  step.steady_limit_s = reader.number("steady_limit_s", kTrialSecondsAboveZero);
  if (reader.sound("limit_s") && step.limit_s <= step.duration_s)
    reader.complain("limit_s", "a number above duration_s");
  if (reader.sound("steady_limit_s") && step.steady_limit_s < step.limit_s)
    reader.complain("steady_limit_s", "at least limit_s");
  return step;
}

// The motor after a step; what it must be before one is the other way round for a start.
bool motor_after(StepKind kind) { return kind == StepKind::start || runs(kind); }

bool can_follow(bool motor, StepKind kind) {
  if (kind == StepKind::start) return !motor;
  if (runs(kind)) return motor;
  return true;
}

void check_trial_order(TomlReader& root, const std::vector<StepDefinition>& steps) {
  if (steps.empty() || steps.front().kind != StepKind::zero || steps.back().kind != StepKind::vent)
    return root.complain("step", "a step of kind \"zero\" first and one of kind \"vent\" last");
  bool motor = false;
  for (std::size_t i = 1; i < steps.size(); ++i) {
    if (steps[i].kind == StepKind::zero)
      root.complain("step", "one step of kind \"zero\"; \"" + steps[i].id + "\" is a second one");
    if (!can_follow(motor, steps[i].kind))
      root.complain("step", motor
                                ? "a rest before \"" + steps[i].id + "\" starts the motor again"
                                : "a start before \"" + steps[i].id + "\": the motor is off there");
    motor = motor_after(steps[i].kind);
  }
}

// Changing the receiver needs a vented one, so a trial runs on one receiver, as a test does.
void settle_trial_receiver(TomlReader& root, std::vector<StepDefinition>& steps) {
  std::set<std::string> receivers;
  for (const StepDefinition& step : steps)
    if (runs(step.kind)) receivers.insert(step.receiver);
  if (receivers.size() > 1)
    root.complain("step", "one receiver for the whole trial: it is changed only while vented");
  for (StepDefinition& step : steps)
    if (!receivers.empty()) step.receiver = *receivers.begin();
}

std::optional<std::size_t> find_step(const std::vector<StepDefinition>& steps,
                                     const std::string& id) {
  const auto found = std::ranges::find(steps, id, &StepDefinition::id);
  if (found == steps.end()) return std::nullopt;
  return static_cast<std::size_t>(found - steps.begin());
}

std::size_t read_step_id(TomlReader& reader, std::string_view key,
                         const std::vector<StepDefinition>& steps) {
  const std::string id = reader.text(key);
  const auto index = find_step(steps, id);
  if (!index && reader.sound(key)) reader.complain(key, "the id of a step, found \"" + id + "\"");
  return index.value_or(0);
}

double seconds_of(const std::vector<StepDefinition>& steps, std::size_t first, std::size_t last) {
  double seconds = 0;
  for (std::size_t i = first; i <= last && i < steps.size(); ++i) seconds += steps[i].duration_s;
  return seconds;
}

double turns_of(const std::vector<StepDefinition>& steps, const LoopPlan& loop) {
  const double turn_s = seconds_of(steps, loop.first, loop.last);
  if (!loop.for_s || turn_s <= 0) return loop.times;
  return std::min<double>(loop.times, std::ceil(*loop.for_s / turn_s));
}

void read_steadiness(TomlReader& reader, LoopPlan& loop) {
  if (!reader.has("steady_role")) return;
  loop.steady_role = read_role(reader, "steady_role");
  loop.steady_within_si = reader.number("steady_within_si", kAboveZero);
}

LoopPlan read_loop(TomlReader& reader, const std::vector<StepDefinition>& steps) {
  LoopPlan loop;
  loop.first = read_step_id(reader, "from", steps);
  loop.last = read_step_id(reader, "to", steps);
  loop.times = static_cast<int>(reader.integer("times", 1, 20'000));
  loop.for_s = reader.maybe_number("for_s", kTrialSecondsAboveZero);
  read_steadiness(reader, loop);
  return loop;
}

void check_loop(TomlReader& reader, const LoopPlan& loop, const std::vector<StepDefinition>& steps,
                const std::vector<LoopPlan>& earlier) {
  if (!reader.sound("from") || !reader.sound("to") || steps.size() < 3) return;
  if (loop.last < loop.first) return reader.complain("to", "the step of \"from\" or a later one");
  if (loop.first == 0 || loop.last + 1 == steps.size())
    return reader.complain("from", "steps between zero and vent: those two are not repeated");
  if (!earlier.empty() && loop.first <= earlier.back().last)
    return reader.complain("from", "loops one after the other, none inside another");
  if (!can_follow(motor_after(steps[loop.last].kind), steps[loop.first].kind))
    reader.complain("to", "a loop that leaves the motor as \"" + steps[loop.first].id +
                              "\" needs it: end it with a rest, or begin it behind the start");
  if (seconds_of(steps, loop.first, loop.last) <= 0)
    reader.complain("from", "a loop whose steps take some time");
}

EndCondition read_end(TomlReader& reader, const std::vector<StepDefinition>& steps) {
  EndCondition end;
  end.id = reader.text("id");
  end.ends_trial = reader.word<bool>("ends", kEndsTrial);
  if (reader.has("step")) end.step = read_step_id(reader, "step", steps);
  end.role = read_role(reader, "role");
  expect_unit(reader, "unit", end.role);
  const std::optional<double> above = reader.maybe_number("above_si");
  const std::optional<double> below = reader.maybe_number("below_si");
  if (reader.has("above_si") == reader.has("below_si"))
    reader.complain("above_si", "either above_si or below_si, one of the two");
  end.upper = !below;
  end.limit_si = below.value_or(above.value_or(0));
  end.for_s = reader.number("for_s", {.min = 0, .max = 600});
  return end;
}

}  // namespace

std::vector<StepDefinition> read_trial_steps(TomlReader& root) {
  std::vector<StepDefinition> steps;
  UniqueIds ids;
  root.each("step", [&](TomlReader& reader) {
    steps.push_back(read_trial_step(reader));
    ids.expect_new(reader, "id", steps.back().id);
  });
  check_trial_order(root, steps);
  settle_trial_receiver(root, steps);
  return steps;
}

std::vector<LoopPlan> read_loops(TomlReader& root, const std::vector<StepDefinition>& steps) {
  std::vector<LoopPlan> loops;
  root.each("loop", [&](TomlReader& reader) {
    const LoopPlan loop = read_loop(reader, steps);
    check_loop(reader, loop, steps, loops);
    loops.push_back(loop);
  });
  return loops;
}

std::vector<EndCondition> read_ends(TomlReader& root, const std::vector<StepDefinition>& steps) {
  std::vector<EndCondition> ends;
  UniqueIds ids;
  root.each("end", [&](TomlReader& reader) {
    ends.push_back(read_end(reader, steps));
    ids.expect_new(reader, "id", ends.back().id);
  });
  return ends;
}

TrialSize size_of(const std::vector<StepDefinition>& steps, const std::vector<LoopPlan>& loops) {
  if (steps.empty()) return {};
  TrialSize size{seconds_of(steps, 0, steps.size() - 1), static_cast<double>(steps.size())};
  for (const LoopPlan& loop : loops) {
    if (loop.last < loop.first) continue;
    const double more = turns_of(steps, loop) - 1;
    size.seconds += more * seconds_of(steps, loop.first, loop.last);
    size.steps += more * static_cast<double>(loop.last - loop.first + 1);
  }
  return size;
}

}  // namespace endgate::daemon

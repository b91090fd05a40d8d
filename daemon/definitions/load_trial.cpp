#include <array>

#include "daemon/definitions/load_text.h"
#include "daemon/definitions/read_over_limit.h"
#include "daemon/definitions/trial_steps.h"

namespace endgate::daemon {
namespace {

constexpr NumberRange kKelvin{.min = 200, .max = 600};

void read_cut_out(TomlReader& part, CutOut& cut_out) {
  using analysis::Role;
  cut_out.role = read_role(part, "role");
  expect_unit(part, "unit", cut_out.role);
  if (part.sound("role") && cut_out.role != Role::head_temperature &&
      cut_out.role != Role::case_temperature)
    part.complain("role", "\"head_temperature\" or \"case_temperature\", where a cut-out sits");
  cut_out.opens_at_k = part.number("opens_at_k", kKelvin);
  cut_out.room_k = part.number_or("room_k", cut_out.room_k, {.min = 230, .max = 350});
  if (part.sound("opens_at_k") && part.sound("room_k") && cut_out.opens_at_k <= cut_out.room_k)
    part.complain("opens_at_k", "a temperature above room_k");
}

void check_size(TomlReader& root, TrialDefinition& trial) {
  const TrialSize size = size_of(trial.sequence, trial.plan.loops);
  trial.expected_s = size.seconds;
  if (size.steps > kMostSteps)
    root.complain("loop", "at most 20000 steps in all; make the steps longer or the turns fewer");
  if (root.sound("whole_limit_s") && trial.whole_limit_s <= size.seconds)
    root.complain("whole_limit_s", "more than the " + plain_number(size.seconds) +
                                       " s that its steps and loops take");
}

void read_trial(TomlReader& root, TrialDefinition& trial) {
  trial.id = root.text("id");
  trial.name = root.text("name");
  trial.model = root.text("model");
  trial.whole_limit_s =
      root.number("whole_limit_s", {.min = 0, .max = kLongestTrial_s, .min_excluded = true});
  trial.plan.keep_every_s = root.number_or("keep_every_s", 0, {.min = 0, .max = 60});
  trial.plan.long_run = true;
  trial.plan.piece_s = root.number_or("piece_s", trial.plan.piece_s, {.min = 10, .max = 3600});
  if (root.section("cut_out", [&](TomlReader& part) { read_cut_out(part, trial.cut_out); }) == 0)
    root.complain("cut_out", "a table [cut_out], but it is missing");
  trial.sequence = read_trial_steps(root);
  trial.plan.loops = read_loops(root, trial.sequence);
  trial.plan.ends = read_ends(root, trial.sequence);
  check_size(root, trial);
}

constexpr double kSure = 1.645;  // one-sided 95 %

}  // namespace

Loaded<TrialDefinition> load_trial(std::string_view text, const std::string& file) {
  return load_text<TrialDefinition>(text, file, DefinitionKind::trial, read_trial);
}

ModelDefinition run_in_trial(ModelDefinition model, const TrialDefinition& trial) {
  model.sequence = trial.sequence;
  model.expected_cycle_s = trial.expected_s;
  model.whole_test_limit_s = trial.whole_limit_s;
  return model;
}

analysis::Context context_in_trial(analysis::Context context, const TrialDefinition& trial,
                                   int version) {
  const bool on_head = trial.cut_out.role == analysis::Role::head_temperature;
  const std::string peak = on_head ? "duty_peak_head" : "duty_peak_case";
  context.model.metrics = {peak, "longest_on", "duty_factor", "duty_cycle"};
  context.model.reference.inlet_temperature_k = trial.cut_out.room_k;
  analysis::Limit cut_out;
  cut_out.metric = peak;
  cut_out.upper = trial.cut_out.opens_at_k;
  cut_out.pass_factor = cut_out.fail_factor = kSure;
  context.limits.id = "trial " + trial.id + "@" + std::to_string(version);
  context.limits.version = version;
  context.limits.limits = {cut_out};
  context.causes = {};
  return context;
}

}  // namespace endgate::daemon

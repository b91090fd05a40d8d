#include "daemon/line/choose_test.h"

#include <algorithm>
#include <utility>

#include "analysis/standing.h"
#include "daemon/line/upkeep_policy.h"
#include "daemon/mapping/context_bytes.h"

namespace endgate::daemon {
namespace {

const std::vector<RetestReason>& reasons_for(const std::string& refusal_code) {
  static const std::vector<RetestReason> none;
  if (refusal_code == "scrapped") return none;
  return refusal_code == "has_pass" ? reasons_after_pass() : reasons_after_fail();
}

// A reason that was offered becomes the purpose of the test; anything else is not one.  A repair is
// known by its record alone: a test after it starts a new count.
std::optional<CommandRefusal> take_reason(UnitOnBench& unit, const std::string& words) {
  const auto& offered = reasons_for(unit.retest_refusal);
  const auto reason = std::ranges::find(offered, words, &RetestReason::words);
  if (reason == offered.end())
    return CommandRefusal{409, "U-112",
                          unit.history.last_words + " Choose a reason to test it again."};
  if (reason->means_repaired && !unit.history.repaired_since)
    return CommandRefusal{409, "U-113",
                          "No repair of " + unit.serial +
                              " is recorded since its last test. Record on its page what was "
                              "repaired, then scan it again."};
  unit.purpose = reason->purpose;
  unit.reason = reason->words;
  return std::nullopt;
}

// The text as it was accepted is pinned here: what is accepted later touches no running trial.
std::optional<CommandRefusal> take_trial(UnitOnBench& unit, const std::string& bench,
                                         const std::string& trial,
                                         const Configuration& configuration) {
  auto context = configuration.trial_context(bench, unit.model.id, trial);
  if (const auto* missing = std::get_if<std::string>(&context))
    return CommandRefusal{409, "U-115", *missing + " Nothing was started."};
  const TrialDefinition& accepted = configuration.trials.at(trial).value;
  unit.context = std::get<analysis::Context>(std::move(context));
  unit.model = run_in_trial(configuration.models.at(unit.model.id).value, accepted);
  unit.plan = accepted.plan;
  unit.trial_name = accepted.name;
  unit.purpose = "lab";
  unit.reason = unit.context.limits.id;
  return std::nullopt;
}

}  // namespace

std::optional<ReasonAsked> reason_asked_for(const UnitOnBench& unit) {
  if (!judges_units(unit.purpose)) return std::nullopt;
  const auto refusal =
      analysis::retest_refused(unit.history.tests, "production", "", unit.history.repaired_since,
                               decision_on_retest(unit.history));
  if (!refusal) return std::nullopt;
  return ReasonAsked{refusal->code, refusal->sentence, reasons_for(refusal->code)};
}

std::optional<CommandRefusal> choose_test(UnitOnBench& unit, const std::string& bench,
                                          const StartCommand& command,
                                          const Configuration& configuration) {
  if (!command.trial.empty()) return take_trial(unit, bench, command.trial, configuration);
  if (unit.retest_refusal.empty()) return std::nullopt;
  return take_reason(unit, command.reason);
}

// A unit is judged by what is in force when it starts, and its scan was shown with that.
std::optional<std::string> changed_since_scan(const UnitOnBench& unit, const std::string& bench,
                                              const Configuration& configuration) {
  const auto now = configuration.context(bench, unit.model.id);
  if (const auto* missing = std::get_if<std::string>(&now)) return *missing + " Scan again.";
  const auto of_scan = context_ids(unit.context);
  const auto of_now = context_ids(std::get<analysis::Context>(now));
  if (of_now == of_scan) return std::nullopt;
  std::string news;
  for (const std::string& id : of_now)
    if (std::ranges::find(of_scan, id) == of_scan.end()) news += (news.empty() ? "" : ", ") + id;
  return "Accepted since " + unit.serial +
         " was scanned: " + (news.empty() ? "other texts" : news) + ". Scan it again.";
}

}  // namespace endgate::daemon

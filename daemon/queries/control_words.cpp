#include "daemon/queries/control_words.h"

#include <algorithm>
#include <cmath>

#include "analysis/say_number.h"
#include "analysis/statistics/neighbour_limits.h"

namespace endgate::daemon {
namespace {

using statistics::ControlRule;

std::string two_digits(double value) {
  if (!(value > 0)) return "?";
  const double step = std::pow(10.0, std::max(0.0, std::floor(std::log10(value)) - 1));
  return analysis::say_number(std::round(value / step) * step, 0);
}

std::string batch_of(const TrendTold& told, std::size_t at) {
  return at < told.batches.size() ? told.batches[at].batch : "?";
}

std::string no_limits_words(const TrendTold& told) {
  constexpr std::size_t kFewest = statistics::kFewestShownBatches;
  const std::size_t count = told.batches.size();
  if (count >= kFewest) return "There are no control limits: all batch means are equal.";
  return "There are no control limits, and no batch is judged: limits need at least " +
         std::to_string(kFewest) + " batches to know by how much batches differ anyway; here " +
         (count == 1 ? "is 1." : "are " + std::to_string(count) + ".");
}

// Alike for both sides but for these words.
std::string rule_words(ControlRule rule, const std::string& outside, const std::string& side) {
  switch (rule) {
    case ControlRule::outside:
      return "One mean " + outside + " the limits";
    case ControlRule::two_of_three:
      return "Two of three means in a row beyond two thirds of the limits " + side;
    case ControlRule::one_side:
      return "Nine means in a row " + side;
    case ControlRule::running_mean:
      return "Running mean " + outside + " its limits";
    case ControlRule::running_sum:
      return "Running sum of what means lie " + side + " past its limit";
  }
  return "";
}

}  // namespace

std::string rule_words(ControlRule rule) {
  return rule_words(rule, "outside", "on one side of the centre");
}

std::string signal_words(const TrendTold& told, const ControlSignal& signal) {
  std::string words = signal.above ? rule_words(signal.rule, "above", "above the centre")
                                   : rule_words(signal.rule, "below", "below the centre");
  if (signal.since != signal.batch) words += ", since batch " + batch_of(told, signal.since);
  return words;
}

std::string next_step(ControlRule rule) {
  switch (rule) {
    case ControlRule::outside:
      return "See what this batch alone has: lots, operator, bench. Run the reference unit on its "
             "bench before anything is changed.";
    case ControlRule::two_of_three:
      return "Run the reference unit on each bench and look at the next batch before anything is "
             "changed.";
    case ControlRule::one_side:
      return "A small lasting shift: see which lot, calibration or operator began there. "
             "Freeze new limits only if the new level is wanted.";
    case ControlRule::running_mean:
      return "The level drifts or moved a little: the charts with the bench effect taken out "
             "tell a drifting bench from the product.";
    case ControlRule::running_sum:
      return "The level moved about where the sum began: look there for a lot, a calibration or a "
             "repair of the bench.";
  }
  return "";
}

std::string words_of_limits(const TrendTold& told, const std::string& day) {
  const ControlTold& control = told.control;
  if (!control.frozen() && !control.judges()) return no_limits_words(told);
  if (!control.frozen())
    return "Control limits are computed from the batches shown and move with them; "
           "freeze them with the command endgate control freeze.";
  const ControlVersion& v = control.versions.back();
  return "Control limits: version " + std::to_string(v.version) + ", frozen " + day + " by " +
         v.by + " from " + analysis::say_number(v.limits.batches, 0) + " batches " + v.first_batch +
         " to " + v.last_batch + " (" + v.why +
         "). Older batches are judged by the limits of their time; those the first limits were "
         "made from, and older ones, are not judged." +
         (bench_taken_out(told)
              ? " With the bench effect taken out, limits come from the batches shown."
              : "");
}

std::string words_of_run_length(const statistics::PromisedRunLength& length) {
  std::string words = "about " + two_digits(length.expected) + " batches";
  if (length.low != length.high)
    words += " (" + two_digits(length.low) + " to " + two_digits(length.high) + ")";
  return words;
}

std::string words_of_run_length(const ControlTold& control) {
  if (!control.frozen() && !control.judges()) return "";
  const std::size_t rules = control.rules.list().size();
  const statistics::PromisedRunLength& length = control.run_length;
  if (!length.told())
    return "How often the rules signal falsely is not told: limits from fewer than " +
           std::to_string(statistics::kFewestControlBatches) +
           " batches are too uncertain for a figure.";
  std::string words = "While nothing moves, ";
  words += rules == 1 ? "the rule in force signals"
                      : "the " + std::to_string(rules) + " rules in force together signal";
  words += " falsely once in about " + two_digits(length.expected) + " batches";
  if (length.low != length.high)
    words += "; limits from " + analysis::say_number(control.made_from, 0) +
             " batches leave that open between " + two_digits(length.low) + " and " +
             two_digits(length.high) + " (90 %)";
  if (control.likeness > 0)
    words += "; that allows for neighbouring batches resembling each other (correlation " +
             analysis::say_number(control.likeness, 2) + ")";
  return words + ".";
}

}  // namespace endgate::daemon

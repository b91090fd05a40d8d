// The rules of control charts in words: what is broken, what it means, what to do next.

#pragma once

#include <string>

#include "daemon/queries/trend_told.h"

namespace endgate::daemon {

// "Nine means in a row on one side of the centre"
[[nodiscard]] std::string rule_words(statistics::ControlRule rule);
// "Nine means in a row above the centre since batch 2618"
[[nodiscard]] std::string signal_words(const TrendTold& told, const ControlSignal& signal);
[[nodiscard]] std::string next_step(statistics::ControlRule rule);

// "Control limits: version 2, frozen 2026-11-20 by Ada from 25 batches 2608 to 2632 (new fixture)."
// or that they are computed from what is shown, or that there are none and why.
[[nodiscard]] std::string words_of_limits(const TrendTold& told, const std::string& day);

// "While nothing moves, these 4 rules together signal falsely once in about 140 batches; ..."
// Empty when nothing is judged.
[[nodiscard]] std::string words_of_run_length(const ControlTold& control);
// "about 140 batches (50 to 500)"
[[nodiscard]] std::string words_of_run_length(const statistics::PromisedRunLength& length);

}  // namespace endgate::daemon

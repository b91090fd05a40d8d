// How is a likely cause said, and which readings speak for it?

#pragma once

#include <optional>
#include <span>
#include <string>

#include "analysis/cause_hypotheses.h"

namespace endgate::analysis {

struct CauseTold {
  const Hypothesis* hypothesis = nullptr;
  const HypothesisPoint* at = nullptr;  // the severity that fits best
};

// "Inlet filter or suction reed": likeliest first.
[[nodiscard]] std::string name_of_group(std::span<const CauseTold> members);

// What would tell the members apart; empty for a single one.
[[nodiscard]] std::string told_apart_by(std::span<const CauseTold> members);

// "Flow at 800 kPa is 16 % lower than of a healthy unit and dead-head pressure 21 % lower; current
// at 600 kPa is as usual, which speaks against tight assembly."
[[nodiscard]] std::string evidence_of(const CauseTable& table, const CauseData& data,
                                      const CauseTold& cause,
                                      const std::optional<CauseTold>& rival);

}  // namespace endgate::analysis

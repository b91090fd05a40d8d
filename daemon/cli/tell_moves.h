// What moves between two judgements, as text: a table of verdicts, a row for each metric that
// moves, and one sentence that says it all.

#pragma once

#include <ostream>
#include <string>

#include "daemon/queries/moves.h"

namespace endgate::daemon {

// What the two judgements are called: "kept" and "now".
struct SidesNamed {
  std::string before, after;
};

// "QH2648-0001-A attempt 1: was pass, is undecided. Before: All limits ... Now: Flow at ..."
[[nodiscard]] std::string verdict_move_words(const std::string& test, const Judgement& before,
                                             const Judgement& after);

void tell_moves(const Moves& moves, const SidesNamed& names, std::ostream& out);

}  // namespace endgate::daemon

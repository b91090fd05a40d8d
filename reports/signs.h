// Which sign stands for a verdict or a state of the line?  Drawn on a grid of 96 x 96.
//
// The bar is the limit: pass stands on it, fail hangs below it, undecided lies across it and void
// has only stubs of it.  One colour (`currentColor`) and a cut-out, so that form alone tells.

#pragma once

#include <optional>
#include <string>

#include "reports/node.h"

namespace endgate::reports {

enum class Sign {
  pass,
  fail,
  undecided,
  void_,
  free,
  refused,
  again,
  ring,  // ready, running, storing; seconds inside
  out_of_use,
  no_contact,
  warning,  // ISO 7010 W001
};

// `label`: what a screen reader says.
[[nodiscard]] Node draw_sign(Sign sign, const std::string& label);

// The ring with `left` of `whole` seconds still to go; full and without a number at 0, empty
// without `left`.  Below the number stand its unit and `caption`: "s left".
[[nodiscard]] Node draw_ring(std::optional<double> left_s, double whole_s,
                             const std::string& caption, const std::string& label);

[[nodiscard]] Sign sign_of_verdict(const std::string& verdict);         // unknown: void
[[nodiscard]] std::string word_of_verdict(const std::string& verdict);  // "Pass"
// Sign and word beside each other, as in lists.
[[nodiscard]] Node verdict_mark(const std::string& verdict);

}  // namespace endgate::reports

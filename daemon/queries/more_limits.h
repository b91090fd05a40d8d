// How many limits besides the deciding one did a failed test break?
//
// `Reasons`: of a grade or of a record, the deciding one first.

#pragma once

#include <algorithm>
#include <cstddef>
#include <string>

#include "analysis/reason_codes.h"

namespace endgate::daemon {

// 0 as well when something else than a limit decided.
template <class Reasons>
[[nodiscard]] std::size_t more_limits_broken(const Reasons& reasons) {
  const auto broken = [](const auto& reason) {
    return reason.code == analysis::reason::below_lower ||
           reason.code == analysis::reason::above_upper;
  };
  if (reasons.empty() || !broken(reasons.front())) return 0;
  return static_cast<std::size_t>(std::ranges::count_if(reasons, broken)) - 1;
}

// "2 more limits are broken"; empty: none.
[[nodiscard]] inline std::string more_limits_words(std::size_t more) {
  if (more == 0) return "";
  return std::to_string(more) + (more == 1 ? " more limit is broken" : " more limits are broken");
}

// To go on a sentence without its full stop: ", and 2 more limits are broken".
template <class Reasons>
[[nodiscard]] std::string and_more_limits(const Reasons& reasons) {
  const std::string words = more_limits_words(more_limits_broken(reasons));
  return words.empty() ? "" : ", and " + words;
}

// The sentence of the deciding reason, and how many more.  Empty: no reason.
template <class Reasons>
[[nodiscard]] std::string deciding_words(const Reasons& reasons) {
  if (reasons.empty()) return "";
  const std::string more = more_limits_words(more_limits_broken(reasons));
  return reasons.front().sentence + (more.empty() ? "" : " " + more + ".");
}

}  // namespace endgate::daemon

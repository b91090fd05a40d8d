// Does a whole serial have the form that a model's pattern describes?  The one user of the regular
// expression library here: its recursion is kept small by the length of the text.

#pragma once

#include <string>

namespace endgate::daemon {

inline constexpr std::size_t kLongestSerial = 64;

// An ECMAScript regular expression.
[[nodiscard]] bool is_pattern(const std::string& pattern);

// `pattern` is one, and the text at most kLongestSerial long; a longer one does not match.
[[nodiscard]] bool matches_pattern(const std::string& text, const std::string& pattern);

}  // namespace endgate::daemon

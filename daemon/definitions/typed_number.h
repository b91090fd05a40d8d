// A number as a person types it: "44.5", "-3".
//
// The whole of the text, with a decimal point, finite; nothing for anything else: an empty text,
// a comma, a unit behind it, "nan" and "inf".  Whether it may be missing is the caller's matter.

#pragma once

#include <optional>
#include <string_view>

namespace endgate::daemon {

// Also with an exponent, "1e-3".
[[nodiscard]] std::optional<double> typed_number(std::string_view text);
// Without one: where a slip of a finger would be a limit.
[[nodiscard]] std::optional<double> plain_number(std::string_view text);

}  // namespace endgate::daemon

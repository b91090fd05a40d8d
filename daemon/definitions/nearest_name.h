// Which known name did the writer probably mean?

#pragma once

#include <span>
#include <string>
#include <string_view>

namespace endgate::daemon {

// The known name with the fewest edits (insert, delete, replace, each 1); empty when even the
// nearest needs more than a third of the letters changed.
[[nodiscard]] std::string nearest_name(std::string_view written,
                                       std::span<const std::string> known);

}  // namespace endgate::daemon

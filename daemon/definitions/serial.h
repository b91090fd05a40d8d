// Is this text the serial of a unit, and of which model?

#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <variant>

#include "daemon/definitions/model_definition.h"

namespace endgate::daemon {

// ISO/IEC 7064 MOD 37,36 check character of letters and digits (dashes skipped); empty when a
// character is neither.
[[nodiscard]] std::optional<char> check_character(std::string_view body);

struct SerialMatch {
  std::string serial;  // as scanned, trimmed, upper case
  std::string model;
};
struct SerialRefusal {
  std::string code;      // "U-101" pattern, "U-102" check character
  std::string sentence;  // what was read and what was expected
};
[[nodiscard]] std::variant<SerialMatch, SerialRefusal> match_serial(
    std::string_view scanned, std::span<const ModelDefinition> models);

}  // namespace endgate::daemon

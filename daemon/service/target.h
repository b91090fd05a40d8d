// Which path and query does a request target name?
//
// Segments are decoded once.  A segment that decodes to something with a slash, a backslash, a
// control character or broken UTF-8, or that is "." or "..", is refused: there is no file system
// behind the paths and nobody needs them.

#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace endgate::daemon {

struct Target {
  std::vector<std::string> path{};
  std::map<std::string, std::string> query{};
};

[[nodiscard]] std::optional<Target> parse_target(std::string_view target);

// Valid UTF-8 without control characters.
[[nodiscard]] bool is_plain_text(std::string_view text);

}  // namespace endgate::daemon

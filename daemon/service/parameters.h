// Numbers and names out of an address, checked.

#pragma once

#include <algorithm>
#include <charconv>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/service/message.h"

namespace endgate::daemon {

// A position of a store that a JSON number still holds exactly.
inline constexpr std::int64_t kMostPosition = std::int64_t{1} << 53;

// A whole number of at least 1 and at most `most`; nothing when it is not one.
inline std::optional<std::int64_t> whole_number(const std::string& text, std::int64_t most) {
  std::int64_t value = 0;
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value);
  if (read.ec != std::errc() || read.ptr != end || value < 1 || value > most) return std::nullopt;
  return value;
}

inline std::string query_value(const Request& request, const std::string& name) {
  const auto found = request.query.find(name);
  return found == request.query.end() ? std::string() : found->second;
}

// Refuses a name in the address that the question does not know: mistyped, a filter would answer for
// the wrong population.  Nothing: all are known.
inline std::optional<Response> unknown_name(const Request& request,
                                            const std::vector<std::string_view>& known) {
  for (const auto& [name, value] : request.query) {
    if (std::ranges::find(known, name) != known.end()) continue;
    std::string names;
    for (const std::string_view each : known)
      names += (names.empty() ? "" : ", ") + std::string(each);
    return refusal(400, "U-254",
                   "This question knows no \"" + name + "\". It knows: " + names + ".");
  }
  return std::nullopt;
}

}  // namespace endgate::daemon

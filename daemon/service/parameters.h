// Numbers and names out of an address, checked.

#pragma once

#include <charconv>
#include <cstdint>
#include <optional>
#include <string>

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

}  // namespace endgate::daemon

// The JSON library behind the codec's files; include it nowhere else, it is slow to compile.

#pragma once

#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "daemon/service/json_write.h"

namespace endgate::daemon {

using Json = nlohmann::ordered_json;

inline double finite(double value) {
  if (!std::isfinite(value)) throw JsonFault("an answer has a number that is not finite");
  return value;
}
inline Json finite_or_null(const std::optional<double>& value) {
  return value ? Json(finite(*value)) : Json(nullptr);
}
inline Json text_or_null(const std::string& text) {
  return text.empty() ? Json(nullptr) : Json(text);
}

// What counts no more, in words: its fields stand under no other key.
[[nodiscard]] Json withdrawn_entries(const std::vector<UnitEvent>& events);

inline std::string written(const Json& value) {
  try {
    return value.dump();
  } catch (const Json::exception& fault) {
    throw JsonFault(fault.what());
  }
}

}  // namespace endgate::daemon

#include "daemon/definitions/findings.h"

#include <algorithm>
#include <tuple>

namespace endgate::daemon {

std::string DefinitionError::text() const {
  std::string place = file;
  if (line > 0) place += ":" + std::to_string(line) + ":" + std::to_string(column);
  return place + (key.empty() ? "" : " " + key) + ": expected " + expected;
}

std::vector<DefinitionError> Findings::in_file_order() && {
  std::ranges::stable_sort(errors_, [](const DefinitionError& a, const DefinitionError& b) {
    return std::tie(a.line, a.column) < std::tie(b.line, b.column);
  });
  return std::move(errors_);
}

}  // namespace endgate::daemon

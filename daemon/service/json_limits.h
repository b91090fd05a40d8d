// Versions of limits and of control limits as JSON; SI numbers with the unit in the key.

#pragma once

#include <string>
#include <vector>

#include "daemon/line/control_history.h"
#include "daemon/line/limit_history.h"

namespace endgate::daemon {

[[nodiscard]] std::string limits_json(const std::string& model,
                                      const std::vector<LimitChange>& changes);
[[nodiscard]] std::string control_json(const std::vector<FrozenText>& texts);

}  // namespace endgate::daemon

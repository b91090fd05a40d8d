// A test against the unit's birth test, as JSON.

#pragma once

#include "daemon/service/json_value.h"

namespace endgate::daemon {

[[nodiscard]] Json birth_json(const BirthCompared& birth);

}  // namespace endgate::daemon

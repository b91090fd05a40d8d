// Studies of the measurement and the curve of a data sheet as JSON; SI numbers with the unit in the
// key.

#pragma once

#include <string>

#include "daemon/queries/gauge_told.h"
#include "daemon/queries/rating_told.h"

namespace endgate::daemon {

[[nodiscard]] std::string gauge_json(const GaugeTold& told);
[[nodiscard]] std::string one_unit_json(const OneUnitTold& told);
[[nodiscard]] std::string rating_json(const RatingTold& told);

}  // namespace endgate::daemon

// Which lots were built in at a repair?  Its words "part=lot", as in "motor=M-118, reed=R-22"; other
// words of what was replaced name no lot.

#pragma once

#include <vector>

#include "schema/facts.h"

namespace endgate::daemon {

[[nodiscard]] std::vector<schema::PartLot> lots_in(const schema::Repair& repair);

}  // namespace endgate::daemon

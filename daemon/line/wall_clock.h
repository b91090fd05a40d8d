// What does the wall clock say, and may it be believed?
//
// Written down with every fact and never compared: order is the position in the store.

#pragma once

#include "schema/facts.h"

namespace endgate::daemon {

// UTC in milliseconds, whether the kernel says it is synchronised, and its largest error.
[[nodiscard]] schema::WallClock wall_clock_now();

}  // namespace endgate::daemon

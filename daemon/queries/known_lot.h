// Does anything name this lot?  "R-118" of any part, "reed=R-118" of that one.  A question about a lot
// that nobody entered would answer for no test, and say nothing of it.

#pragma once

#include <string>

#include "schema/store.h"

namespace endgate::daemon {

[[nodiscard]] bool is_known_lot(const schema::StoreReader& store, const std::string& lot);

}  // namespace endgate::daemon

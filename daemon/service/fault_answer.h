// What is a client told when a handler throws?  That nothing was changed, and a number under which
// the log has the rest: no path, SQL or exception text leaves the service.

#pragma once

#include <string_view>

#include "daemon/service/message.h"

namespace endgate::daemon {

// 500 N-500 with a number of its own; `where` and `what` go to the log beside the number.
[[nodiscard]] Response fault_answer(std::string_view where, std::string_view what);

}  // namespace endgate::daemon

// The facts of one bench in the words of the line page.

#pragma once

#include "daemon/line/line_state.h"
#include "reports/line_view.h"

namespace endgate::daemon {

[[nodiscard]] reports::LineView line_view_of(const LineState& line);

}  // namespace endgate::daemon

// Batches in several metrics together: one chart with its limit, and who is beyond it by what.

#pragma once

#include "daemon/queries/together_told.h"
#include "reports/trend_page.h"

namespace endgate::daemon {

[[nodiscard]] reports::TogetherPart together_part(const TogetherTold& told);

}  // namespace endgate::daemon

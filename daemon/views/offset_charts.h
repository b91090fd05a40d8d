// How far each bench has drifted, drawn with a band of 2 u; two benches side by side, on one scale.

#pragma once

#include <cstddef>
#include <vector>

#include "daemon/queries/bench_offset.h"
#include "reports/trend_page.h"

namespace endgate::daemon {

// From batch `first` of the trend on.
[[nodiscard]] std::vector<reports::ChartPair> offset_charts(const TrendTold& told,
                                                            std::size_t first);

}  // namespace endgate::daemon

// A few units far from all others (reversed leads, a broken reed) say nothing of what moved, and one
// of them would widen every interval: they are counted and not asked for causes.
// FAR as in analysis/statistics/scatter.h.

#pragma once

#include <cstddef>

#include "analysis/statistics/test_columns.h"

namespace endgate::daemon {

struct WithoutFar {
  statistics::TestColumns columns{};  // with all batches and benches, also those left without a row
  std::size_t far = 0;                // rows left out
};
[[nodiscard]] WithoutFar without_far(const statistics::TestColumns& all);

}  // namespace endgate::daemon

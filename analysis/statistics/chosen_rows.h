// Some rows of the columns, and only the levels that they use, in the order they had.

#pragma once

#include <cstddef>
#include <vector>

#include "analysis/statistics/test_columns.h"

namespace endgate::statistics {

// `rows` rising.
[[nodiscard]] TestColumns chosen_rows(const TestColumns& all, const std::vector<std::size_t>& rows);

// The rows of batch `first` and later ones: batch `first` is batch 0 of them, and so on, also where a
// batch has no row.
[[nodiscard]] TestColumns rows_since_batch(const TestColumns& all, std::size_t first);

}  // namespace endgate::statistics

// Tests without a batch are of no batch: gathered under one name they would be one point of years.

#pragma once

#include <cstddef>

#include "daemon/queries/trend_columns.h"

namespace endgate::daemon {

struct InBatches {
  MetricColumns read{};           // without those rows; checks keep their place among the batches
  std::size_t without_batch = 0;  // rows taken out
};
[[nodiscard]] InBatches in_batches(MetricColumns read);

}  // namespace endgate::daemon

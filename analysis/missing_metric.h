// How is a metric without a number told?

#pragma once

#include <string>
#include <utility>

#include "analysis/evaluation.h"

namespace endgate::analysis {

[[nodiscard]] inline Metric missing_metric(std::string id, std::string reason) {
  Metric metric;
  metric.id = std::move(id);
  metric.missing_reason = std::move(reason);
  return metric;
}

}  // namespace endgate::analysis

// The metric of an evaluation by its id.

#pragma once

#include <stdexcept>
#include <string>

#include "analysis/evaluation.h"

namespace endgate::analysis {

inline const Metric& metric(const Evaluation& evaluation, const std::string& id) {
  for (const Metric& one : evaluation.metrics)
    if (one.id == id) return one;
  throw std::logic_error("no metric " + id);
}

}  // namespace endgate::analysis

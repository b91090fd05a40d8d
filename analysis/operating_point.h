// What is shown and kept of each hold?
//
// One point per hold of the trace, in order; a hold that gave none says why in its note, and its
// numbers are 0.  Numbers are as measured, at the inlet of that day.

#pragma once

#include <vector>

#include "analysis/evaluation.h"
#include "analysis/measured.h"
#include "analysis/survey.h"

namespace endgate::analysis {

[[nodiscard]] std::vector<OperatingPoint> operating_points(const Survey& survey,
                                                           const Measured& measured);

}  // namespace endgate::analysis

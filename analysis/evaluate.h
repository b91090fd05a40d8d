// How does one test become a verdict?  The page to read first.
//
//   raw trace --health--> samples --operating points--> curve --reference--> metrics
//   metrics --limits--> grade
//
// Pure: same trace and same context give the same bits on the same build and machine.  Reads no
// clock, file, log or global.  Throws only std::bad_alloc.  Never refuses as a whole: what the data
// do not allow is a missing metric with its reason, and the grade says so.

#pragma once

#include "analysis/context.h"
#include "analysis/evaluation.h"
#include "analysis/raw_trace.h"

namespace endgate::analysis {

[[nodiscard]] Evaluation evaluate(const RawTrace& trace, const Context& context);

}  // namespace endgate::analysis

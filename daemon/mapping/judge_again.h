// What does this program say of a kept test?  Its context and its trace out of the store, evaluated
// anew; everything that is not an evaluation stays as it was kept.
//
// Numbers are SI.  Nothing is written; the verdict of record stands.

#pragma once

#include "analysis/context.h"
#include "analysis/evaluation.h"
#include "schema/facts.h"
#include "schema/trace.h"

namespace endgate::daemon {

struct JudgedAgain {
  schema::Record record;  // as this program would make it today
  analysis::Evaluation evaluation;
};

// `draft`: held against instead of the limits of then; nullptr: those of then.
//
// StoreFault::damaged or ::wrong_version when context or marks cannot be read, or when the trace is
// not the one the record has sealed; ::refused for a record that was made without a trace.
[[nodiscard]] JudgedAgain judge_again(const schema::Record& record, const schema::Trace& trace,
                                      const analysis::LimitSet* draft = nullptr);

}  // namespace endgate::daemon

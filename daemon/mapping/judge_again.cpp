#include "daemon/mapping/judge_again.h"

#include "analysis/evaluate.h"
#include "daemon/mapping/context_bytes.h"
#include "daemon/mapping/record_of.h"
#include "daemon/mapping/trace_of.h"
#include "schema/store_fault.h"

namespace endgate::daemon {
namespace {

using schema::Record;
using schema::StoreFault;

void refuse_another_trace(const Record& record, const schema::Trace& trace) {
  if (!record.trace_sha256)
    throw StoreFault(StoreFault::Kind::refused,
                     "this test was broken off without a trace; there is nothing to replay");
  if (record.context_bytes.empty())
    throw StoreFault(
        StoreFault::Kind::refused,
        "the service ended during this test: pieces of its trace are kept, but nothing "
        "was judged, so there is nothing to replay");
  if (schema::hash_of(trace) != *record.trace_sha256)
    throw StoreFault(StoreFault::Kind::damaged,
                     "the trace is not the one this record has sealed; run `endgate verify`");
}

// The record as it would be made today, with everything that is not an evaluation as it was.
Record made_again(const Record& record, const analysis::RawTrace& trace,
                  const analysis::Context& context, const analysis::Evaluation& evaluation) {
  Record again = record_of({.start = record.start,
                            .start_position = record.start_position,
                            .finished = record.finished,
                            .cycle_s = record.cycle_s,
                            .software = record.software,
                            .simulated = record.simulated},
                           trace, context, evaluation, analysis::Standing{});
  again.standing = record.standing;
  again.standing_reason = record.standing_reason;
  again.trace_sha256 = record.trace_sha256;
  again.trace_file = record.trace_file;
  return again;
}

}  // namespace

JudgedAgain judge_again(const Record& record, const schema::Trace& trace,
                        const analysis::LimitSet* draft) {
  refuse_another_trace(record, trace);
  analysis::Context context = context_from(record.context_bytes);
  if (draft != nullptr) context.limits = *draft;
  const analysis::RawTrace raw = raw_trace_of(trace);
  analysis::Evaluation evaluation = analysis::evaluate(raw, context);
  Record again = made_again(record, raw, context, evaluation);
  return {std::move(again), std::move(evaluation)};
}

}  // namespace endgate::daemon

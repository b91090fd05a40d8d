// A test as the daemon makes one: seen by instruments, evaluated, mapped.  Its truth is known
// (tests/analysis/measure_trace.h); programs that use it compile measure_trace.cpp too.

#pragma once

#include <functional>
#include <string>

#include "analysis/evaluate.h"
#include "analysis/standing.h"
#include "daemon/mapping/record_of.h"
#include "daemon/mapping/trace_of.h"
#include "schema/store.h"
#include "tests/analysis/measure_trace.h"
#include "tests/support/made_facts.h"

namespace endgate::test {

struct EvaluatedTest {
  schema::Record record;
  schema::Trace trace;
};

// Of model P1-60-12: at least 7e-4 m3/s (42 L/min) at 400 kPa, at most 20 A at 600 kPa; it passes.
inline analysis::Context evaluated_context() {
  analysis::Context context = analysis::made::context({.counts = true});
  context.limits.id = "limits P1-60-12@1";
  context.limits.limits.resize(2);
  context.limits.limits[0].metric = "fad_400";
  context.limits.limits[0].lower = 7e-4;
  context.limits.limits[1].metric = "current_600";
  context.limits.limits[1].upper = 20;
  return context;
}

inline EvaluatedTest evaluated_test(const schema::TestStart& start, schema::Position start_position,
                                    std::uint64_t seed = 20261118) {
  namespace made = analysis::made;
  const made::Manners manners{.counts = true};
  const analysis::Context context = evaluated_context();
  const analysis::RawTrace trace = made::through_instruments(
      made::trace(made::Truth{}, manners, made::context()), context, seed);
  const analysis::Evaluation evaluation = analysis::evaluate(trace, context);
  const std::vector<analysis::PastTest> tests{{.attempt = 1,
                                               .verdict = evaluation.grade.verdict,
                                               .purpose = "production",
                                               .after_repair = false,
                                               .metrics = evaluation.metrics}};
  EvaluatedTest kept;
  kept.record =
      daemon::record_of({.start = start,
                         .start_position = start_position,
                         .finished = {.utc_ms = kNovember2026 + 71'400},
                         .cycle_s = 71.4,
                         .software = "endgate 0.1.0",
                         .simulated = true},
                        trace, context, evaluation, analysis::standing_of(tests, context.limits));
  kept.trace = daemon::stored_trace_of(trace);
  kept.record.trace_sha256 = schema::hash_of(kept.trace);
  return kept;
}

// Kept as evaluated, or, with `spoil`, as a program that judged otherwise would have kept it.
using Spoil = std::function<void(schema::Record&)>;
inline schema::Position keep_evaluated(schema::StoreWriter& writer, const schema::TestStart& start,
                                       std::uint64_t seed = 20261118, const Spoil& spoil = {}) {
  EvaluatedTest test = evaluated_test(start, writer.append(start), seed);
  if (spoil) spoil(test.record);
  return writer.append(test.record, test.trace);
}
inline schema::Position keep_evaluated(schema::StoreWriter& writer, const std::string& serial,
                                       std::uint64_t seed = 20261118, const Spoil& spoil = {}) {
  return keep_evaluated(writer, made_start(serial), seed, spoil);
}

}  // namespace endgate::test

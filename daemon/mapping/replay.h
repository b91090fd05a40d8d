// Does the evaluation still say of a stored test what it said then?
//
// Decodes context and trace out of the record, evaluates again and compares.  Needs no store and no
// definition file: a copied record (schema/copied_record.h) is enough.
//
//   R-1  Same build, same machine: every sealed part of the evaluation is equal bit for bit.
//   R-2  Another build or processor: every metric within 1e-9 of its value or 1e-6 of its u,
//        whichever is larger, and the same verdict unless that close to an acceptance limit.
//
// The verdict of record stands whatever the replay says.

#pragma once

#include <string>
#include <vector>

#include "analysis/evaluation.h"
#include "schema/facts.h"
#include "schema/trace.h"

namespace endgate::daemon {

struct ReplayResult {
  bool bit_for_bit = false;
  std::vector<std::string> not_equal;    // parts of the record that differ in any bit: "metrics"
  std::vector<std::string> differences;  // beyond R-2, one line each; empty: the promise is kept
  analysis::Evaluation evaluation;       // as evaluated now
};

// StoreFault::damaged or ::wrong_version when context or marks cannot be read, or when the trace is
// not the one the record has sealed; ::refused for a record that was made without a trace.
[[nodiscard]] ReplayResult replay(const schema::Record& record, const schema::Trace& trace);

}  // namespace endgate::daemon

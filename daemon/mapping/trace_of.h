// A raw trace as it is kept, and back; nothing is lost in either direction.

#pragma once

#include "analysis/raw_trace.h"
#include "schema/trace.h"

namespace endgate::daemon {

[[nodiscard]] schema::Trace stored_trace_of(const analysis::RawTrace& trace);
// Throws schema::StoreFault when the marks are not what this version can read.
[[nodiscard]] analysis::RawTrace raw_trace_of(const schema::Trace& trace);

}  // namespace endgate::daemon

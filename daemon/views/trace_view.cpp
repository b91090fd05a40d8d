#include "daemon/views/trace_view.h"

namespace endgate::daemon {

TraceShown trace_shown(const schema::StoreReader&, const schema::StoredRecord&, const std::string&,
                       std::size_t) {
  return {.missing = "The trace is kept and cannot be shown here."};
}

void add_trace(reports::UnitPage& page, const schema::StoredRecord&, const TraceShown& trace) {
  page.trace_title = "Trace";
  page.trace_sentence = trace.missing;
}

}  // namespace endgate::daemon

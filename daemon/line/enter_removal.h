// The removal of samples is stated: which records, by which policy, by whom.
//
// Stating comes first; the samples themselves are taken by schema/prune_traces.h.

#pragma once

#include "daemon/line/entry.h"

namespace endgate::daemon {

inline constexpr std::size_t kRemovalsAtOnce = 200;  // short enough to delay no record

// Fields: `records`, positions with blanks between; `policy`; `by`.  All are stated or none.
// Refused (422, U-246) when one cannot be.  Throws StoreFault.
[[nodiscard]] Application::Entered enter_removal(schema::StoreWriter& writer,
                                                 const EntryFields& fields);

}  // namespace endgate::daemon

// Everything as one table: one row per test, in the order of the store.
//
// Columns: serial, attempt, model, bench, batch, purpose, start (UTC), cycle_s, verdict, standing,
// reasons ("code subject", the deciding one first), likely_cause, then for every metric of
// schema/metrics.toml its value and its standard uncertainty: `fad_400 [L/min]`,
// `fad_400.u [L/min]`.  Missing is empty.

#pragma once

#include <cstdint>
#include <ostream>

#include "schema/store.h"

namespace endgate::daemon {

enum class CsvUnits { as_shown, si };  // as people see them, or as they are kept

// Returns how many rows were written.  Throws StoreFault; a failed stream is the caller's to see.
std::int64_t export_csv(const schema::StoreReader& store, CsvUnits units, std::ostream& out);

}  // namespace endgate::daemon

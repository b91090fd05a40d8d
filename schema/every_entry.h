// All entries of one kind in a store, whatever they are about, oldest first, without those
// withdrawn.
//
// For questions about many units; one unit's are asked of StoreReader.  Opens the file anew, read
// only; ends at the deadline of the reader.  Throws StoreFault.

#pragma once

#include <vector>

#include "schema/store.h"

namespace endgate::schema {

[[nodiscard]] std::vector<Kept<ReturnIntake>> every_return(const StoreReader& store);
[[nodiscard]] std::vector<Kept<Repair>> every_repair(const StoreReader& store);

}  // namespace endgate::schema

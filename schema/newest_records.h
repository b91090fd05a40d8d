// Where do the newest records lie?  Positions alone, so that whoever reads the records one by one,
// for hours perhaps, holds no reading transaction that a checkpoint would wait for, and little
// memory.

#pragma once

#include <string>
#include <vector>

#include "schema/store.h"

namespace endgate::schema {

// At most `count`, oldest first, behind a position; of one model unless `model` is empty.  Opens
// the file anew, read only.  Throws StoreFault.
[[nodiscard]] std::vector<Position> newest_records(const StoreReader& store, std::size_t count,
                                                   const std::string& model = "",
                                                   Position behind = 0);

}  // namespace endgate::schema

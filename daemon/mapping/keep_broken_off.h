// What becomes of the pieces of a trace whose test a crash or a power cut ended?
//
// The `void` record of that test names them in its trace, so that they are sealed and found.  The
// test itself is never resumed.

#pragma once

#include <filesystem>

#include "schema/store.h"

namespace endgate::daemon {

// `record`: of a start without its record.  Throws StoreFault.
void keep_broken_off(schema::StoreWriter& writer, const std::filesystem::path& store_folder,
                     schema::Record record);

}  // namespace endgate::daemon

// Which lots went into which units and batches becomes facts, many at once: a delivery note, the
// list of a plant system, an assembly line's own file (daemon/exchange/read_lots.h).
//
//   L-1  the whole file is checked first, against the store too; with one fault nothing is kept
//   L-2  all of a file is kept in one transaction, or none
//   L-3  what an earlier entry says already is left away, so a file may be taken in again after it
//        grew
//
// Who says so is claimed, not proven.  Refusals keep nothing; codes U-263, U-264.  As with a single
// entry (daemon/line/enter_unit_fact.h) a unit or batch may come before its first test.

#pragma once

#include <string>
#include <variant>
#include <vector>

#include "daemon/exchange/read_lots.h"
#include "daemon/line/application.h"
#include "daemon/line/entry.h"
#include "schema/store.h"

namespace endgate::daemon {

struct LotsFileRead {
  std::vector<schema::Lots> entries{};  // complete, ready to be kept
  std::size_t parts = 0;                // of all entries
  std::size_t known = 0;                // parts that are left away (L-3)
};

// Of the fields text, form (csv, json_lines), source and by.  `store`: nullptr when there is none
// yet.  The faults of a refused file stand in its sentence, the first ones, and in `faults` when
// that is given.
[[nodiscard]] std::variant<LotsFileRead, CommandRefusal> read_lots_file(
    const EntryFields& fields, const schema::StoreReader* store,
    std::vector<TableFault>* faults = nullptr);

// Keeps what was read; runs where the writer is.  Throws StoreFault.
[[nodiscard]] Application::Entered enter_lots_file(schema::StoreWriter& writer,
                                                   const LotsFileRead& read);

}  // namespace endgate::daemon

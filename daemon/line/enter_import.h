// Results from elsewhere become facts: an older paper, a spreadsheet, the export of another store.
//
//   I-1  the whole file is checked first; of a row with a fault nothing is kept, and of its file
//        nothing either, unless the good rows were asked for
//   I-2  all rows of a file are kept in one transaction, or none
//   I-3  a file is taken in once: by the SHA-256 of its text, and by its source, which names it
//   I-4  an imported result is no test of ours: no standing counts it, no trend reads it
//
// Who says so is claimed, not proven.  Refusals keep nothing; codes U-260 ... U-262.

#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/exchange/read_results.h"
#include "daemon/line/application.h"
#include "daemon/line/enter_unit_fact.h"
#include "schema/store.h"

namespace endgate::daemon {

struct ImportRead {
  std::vector<schema::ImportedTest> tests{};  // complete, ready to be kept
  std::vector<TableFault> faults{};           // of rows that are left away
};

// Of the fields text, form (csv, json_lines), source, by, why; good_rows (yes) and left_out
// ("Remarks; Box number", columns not to be read) may be absent.  No store is asked.  The faults of
// a refused file stand in its sentence, the first ones, and in `faults` when that is given.
[[nodiscard]] std::variant<ImportRead, CommandRefusal> read_import(
    const EntryFields& fields, std::vector<TableFault>* faults = nullptr);

// I-3
[[nodiscard]] std::optional<CommandRefusal> imported_before(const schema::StoreReader& store,
                                                            const ImportRead& read);

// Keeps what was read; runs where the writer is.  Throws StoreFault.
[[nodiscard]] Application::Entered enter_import(schema::StoreWriter& writer,
                                                const std::filesystem::path& store_folder,
                                                const ImportRead& read);

}  // namespace endgate::daemon

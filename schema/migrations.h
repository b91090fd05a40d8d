// Which tables has a file of this version, and how does an older one become one?
//
// A migration is a numbered text that is appended to the list and never changed.  It may rebuild
// columns; the bytes of facts stay as they were sealed.  `user_version` holds the number reached,
// `application_id` what kind of file it is.

#pragma once

#include <span>

#include "schema/sqlite_handle.h"

namespace endgate::schema {

struct FileKind {
  std::int64_t application_id;
  std::span<const char* const> migrations;  // number 1 first
};
extern const FileKind kTruthFile;  // records.db
extern const FileKind kTraceFile;  // trace-NNNN.db

// Sets the file up for writing (WAL, FULL, no automatic checkpoint, each read back) and runs the
// migrations it lacks, each in one transaction.  StoreFault::wrong_version when the file is not of
// this kind or is newer than this program.
void prepare_for_writing(Database& database, const FileKind& kind);

// StoreFault::wrong_version unless the file is of this kind and version.
void prepare_for_reading(Database& database, const FileKind& kind);

// As that, but of any version up to this one, which it returns: for whoever reads no table that
// came later (verify, and so a copy of a store that was not yet brought up to date).
std::int64_t prepare_for_checking(Database& database, const FileKind& kind);

}  // namespace endgate::schema

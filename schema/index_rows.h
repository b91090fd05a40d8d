// Which columns stand beside the sealed bytes of a fact?  One answer for writing and for verify.

#pragma once

#include <string>
#include <vector>

#include "schema/seal.h"
#include "schema/sqlite_handle.h"

namespace endgate::schema {

struct IndexRow {
  std::string table;
  std::vector<const char*> columns;  // the key of the table first
  std::vector<Value> values;
  std::size_t key_columns = 1;  // how many of them are its key
};

// The row of the fact's own table first, then its many rows (metrics, lots) in the order of their
// keys.
[[nodiscard]] std::vector<IndexRow> index_rows(Position position, const Fact& fact);

// The tables such rows go to, in the order in which migrations brought them.
[[nodiscard]] const std::vector<std::string>& index_tables();

// How many of these a file has that the migration of this number was the last of.
[[nodiscard]] std::size_t index_tables_at(std::int64_t version);

// The table with many rows for one fact of this kind, which has a column `position`; or nullptr.
[[nodiscard]] const char* table_of_many(FactKind kind);

}  // namespace endgate::schema

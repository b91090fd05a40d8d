// Which columns stand beside the sealed bytes of a fact?  One answer for writing and for verify.

#pragma once

#include <string>
#include <vector>

#include "schema/seal.h"
#include "schema/sqlite_handle.h"

namespace endgate::schema {

struct IndexRow {
  std::string table;
  std::vector<const char*> columns;  // the first is `position`
  std::vector<Value> values;
};

// The row of the fact's own table first, then one per metric in the order of their ids.
[[nodiscard]] std::vector<IndexRow> index_rows(Position position, const Fact& fact);

// The tables such rows go to.
[[nodiscard]] const std::vector<std::string>& index_tables();

}  // namespace endgate::schema

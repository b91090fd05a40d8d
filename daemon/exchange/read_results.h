// Which results does a file from elsewhere hold?
//
// Needed in every row: serial, model, start.  `start` is an instant in UTC or a day alone, which is
// kept as its beginning.  Numbers may be in SI or as people see them, as the name of their column
// says, and are kept in SI.  A verdict that is not said stays unsaid, an uncertainty that is not
// known stays missing; a row needs a verdict or a number.  A text that begins with an apostrophe
// before = + - @ loses it again: our own CSV puts it there against formulas.
//
// Source, person and reason of the import are for the caller to fill in.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "daemon/exchange/table.h"
#include "schema/facts.h"

namespace endgate::daemon {

struct ResultsRead {
  std::vector<schema::ImportedTest> tests{};  // rows without a fault
  std::vector<TableFault> faults{};
};

[[nodiscard]] ResultsRead read_results(std::string_view text, TableForm form,
                                       const std::vector<std::string>& left_out = {});

}  // namespace endgate::daemon

// Which cells does one line of a JSON Lines file hold?
//
// One flat object: names of columns, values that are texts, numbers or null.  Refused: anything
// else, a name twice, anything nested.

#pragma once

#include <string_view>
#include <variant>

#include "daemon/exchange/table.h"

namespace endgate::daemon {

[[nodiscard]] std::variant<TableRow, TableFault> read_json_line(std::string_view text,
                                                                std::int64_t line);

}  // namespace endgate::daemon

// What an import says beside its rows, and how its faults are told in one sentence: shared by the
// imports of results and of lots.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/exchange/table.h"
#include "daemon/line/entry.h"

namespace endgate::daemon {

// Empty when absent.
[[nodiscard]] std::string field_of(const EntryFields& fields, const std::string& key);

// One line of at most 200 bytes of UTF-8, not empty.
[[nodiscard]] bool is_line_of_text(const std::string& text);

// What the field `form` says: csv, json_lines.
[[nodiscard]] std::optional<TableForm> table_form_in(const EntryFields& fields);
inline constexpr const char* kTableForms = "The form is csv or json_lines.";

// "2 faults. line 3: column ...": the first five.
[[nodiscard]] std::string sentence_of(const std::vector<TableFault>& faults);

}  // namespace endgate::daemon

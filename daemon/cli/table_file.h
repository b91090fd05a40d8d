// A table that a person names on the command line: its text, its form, its faults as talk.

#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "daemon/exchange/table.h"

namespace endgate::daemon {

// One byte more than may be read, which the reader then refuses.  Throws ConfigurationFault.
[[nodiscard]] std::string text_of_table(const std::filesystem::path& path);

// "csv" or "json_lines": as `form` (csv, jsonl) says, or the name of the file.  Throws
// ConfigurationFault when neither does.
[[nodiscard]] std::string table_form_of(const std::filesystem::path& path, const std::string& form);

// The first ones, one a line, on standard error: "old.csv:12: column ...".
void tell_faults(const std::filesystem::path& path, const std::vector<TableFault>& faults);

}  // namespace endgate::daemon

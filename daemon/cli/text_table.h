// Rows of words, each column as wide as its widest word.

#pragma once

#include <ostream>
#include <string>
#include <vector>

namespace endgate::daemon {

using TextRow = std::vector<std::string>;

// Two blanks between columns, none at the end of a line.  Width counts UTF-8 code points.
void write_table(const std::vector<TextRow>& rows, std::ostream& out);

}  // namespace endgate::daemon

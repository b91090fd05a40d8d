// Which rows does a file hold that people or their programs wrote?
//
// Two forms: CSV with the names of its columns in line 1, and JSON Lines, one flat object a line
// with the same names as keys.  Both give the same rows of cells, so what the cells mean is read in
// one place (read_results.h, read_lots.h).
//
//   T-1  a row is given whole or not at all; of a row with a fault nothing is given
//   T-2  a fault names line, column, what was found and what was expected
//   T-3  a fault of the file as a whole (`of_file`) ends the reading; rows given before it must be
//        thrown away, because what stands behind such a place cannot be told
//
// Faults of a file as a whole: too long, not UTF-8, a control character other than tab and line
// breaks, quotes that do not pair, a heading that is wrong.  Thread safety: no shared state.

#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace endgate::daemon {

inline constexpr std::size_t kMostTableBytes = std::size_t{8} << 20;  // of one file
inline constexpr std::size_t kMostTableRows = 10000;
inline constexpr std::size_t kMostFaultsTold = 20;

enum class TableForm { csv, json_lines };
// By the end of the name: .csv; .jsonl and .ndjson.
[[nodiscard]] std::optional<TableForm> table_form_of(std::string_view file_name);

struct Cell {
  enum class Kind { missing, plain, text, number, other };  // plain: CSV, which has no types
  Kind kind = Kind::missing;
  std::string written{};
};

struct TableRow {
  std::int64_t line = 0;  // where it begins; the first line of the file is 1
  std::vector<std::string> columns{};
  std::vector<Cell> cells{};  // as many as columns

  [[nodiscard]] const Cell& at(std::string_view column) const;  // missing when there is none
};

struct TableFault {
  std::int64_t line = 0;
  std::string column{};  // empty: the line as a whole
  std::string found{};
  std::string expected{};
  bool of_file = false;
};
// Behind "old.csv:": `old.csv:12: column "fad_400 [L/min]": found "54,6", expected a number`
[[nodiscard]] std::string say(const TableFault& fault, const std::string& before_line);

struct TableShape {
  std::vector<std::string> known{};     // columns that are read
  std::vector<std::string> needed{};    // of these, what the heading of a CSV file must name
  std::vector<std::string> left_out{};  // columns that the person said not to read
};

// Calls `take` for each row that is whole; it answers what is wrong inside.  The faults in the
// order of the file.
using TakeRow = std::function<std::vector<TableFault>(const TableRow& row)>;
[[nodiscard]] std::vector<TableFault> read_table(std::string_view text, TableForm form,
                                                 const TableShape& shape, const TakeRow& take);

}  // namespace endgate::daemon

// What do the cells of one row say?  Remembers what is wrong with them.

#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/exchange/table.h"

namespace endgate::daemon {

class RowReader {
 public:
  explicit RowReader(const TableRow& row) : row_(row) {}

  // One line of text of at most `most` bytes; empty when missing.
  [[nodiscard]] std::string text(std::string_view column, std::size_t most = 200);
  [[nodiscard]] std::string needed(std::string_view column);
  // One of `words`, or empty.
  [[nodiscard]] std::string word(std::string_view column, std::span<const std::string_view> words);
  // A finite number with a decimal point.
  [[nodiscard]] std::optional<double> number(std::string_view column);
  [[nodiscard]] std::optional<double> number_from_0(std::string_view column);
  [[nodiscard]] std::optional<std::int64_t> count(std::string_view column);  // from 1 on
  // "2019-06-08" or "2019-06-08T10:42:00.123Z", seconds and their parts may be left out.
  [[nodiscard]] std::optional<std::int64_t> utc_ms(std::string_view column);

  void complain(std::string_view column, const std::string& found, const std::string& expected);
  [[nodiscard]] bool is_good() const { return faults_.empty(); }
  [[nodiscard]] std::vector<TableFault> take_faults() { return std::move(faults_); }

 private:
  const TableRow& row_;
  std::vector<TableFault> faults_;
};

}  // namespace endgate::daemon

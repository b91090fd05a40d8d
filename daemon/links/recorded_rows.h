// Which numbers does the file of a recorded run hold, row after row?
//
//   time_s,discharge_pressure,flow,set_motor_relay
//   0,120,0,0
//   0.016,118,,0             an empty cell: nothing new
//   0.032,none,2.1e-05,1     none: the sensor had no value then
//
// Numbers in SI with a point, rows by rising time.  Every line ends in a line break, the last one
// too: a file that was cut would end in half a number.  One line is held at a time.

#pragma once

#include <cstdint>
#include <istream>
#include <limits>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace endgate::daemon {

struct RecordedRow {
  static constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

  std::int64_t time_us = 0;    // since the beginning of the run as its file has it
  std::vector<double> values;  // by column, as of this row; kNone: the sensor had no value
};

class RecordedRows {
 public:
  static constexpr std::size_t kLongestLine = 8192;  // bytes
  static constexpr std::size_t kMostColumns = 64;

  // Reads the line of names.
  explicit RecordedRows(std::unique_ptr<std::istream> file);

  [[nodiscard]] const std::vector<std::string>& columns() const { return columns_; }
  // Nothing at the end of the file, or where it is wrong: then fault() says where and why.
  [[nodiscard]] std::optional<RecordedRow> next();
  [[nodiscard]] const std::string& fault() const { return fault_; }

  // Where the next row begins, and what held before it.
  struct Place {
    std::streamoff at = 0;
    std::int64_t line = 0;
    std::optional<RecordedRow> before;
  };
  [[nodiscard]] Place place() const;
  void go_to(const Place& place);

 private:
  [[nodiscard]] bool read_line();
  void read_names();
  void read_cell(std::string_view cell, double& value);
  void wrong(const std::string& what);

  std::unique_ptr<std::istream> file_;
  std::string line_;
  std::int64_t number_ = 0;  // of the line read last, from 1
  std::streamoff at_ = 0;    // of the next line
  std::vector<std::string> columns_;
  std::optional<RecordedRow> before_;
  std::string fault_;
};

}  // namespace endgate::daemon

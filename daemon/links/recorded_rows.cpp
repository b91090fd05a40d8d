#include "daemon/links/recorded_rows.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <span>

namespace endgate::daemon {
namespace {

constexpr double kLongestRun_s = 1e9;

std::vector<std::string_view> cells_of(std::string_view line) {
  std::vector<std::string_view> cells;
  for (std::size_t at = 0;;) {
    const std::size_t comma = line.find(',', at);
    cells.push_back(line.substr(at, comma - at));
    if (comma == std::string_view::npos) return cells;
    at = comma + 1;
  }
}

std::optional<double> finite_number(std::string_view text) {
  double number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  const bool whole = error == std::errc() && end == text.data() + text.size();
  return whole && std::isfinite(number) ? std::optional(number) : std::nullopt;
}

}  // namespace

RecordedRows::RecordedRows(std::unique_ptr<std::istream> file) : file_(std::move(file)) {
  if (*file_)
    read_names();
  else
    fault_ = "it cannot be read";
}

void RecordedRows::read_names() {
  if (!read_line()) return wrong("a line of names");
  const auto names = cells_of(line_);
  if (names.front() != "time_s") return wrong("\"time_s\" as the first name");
  if (names.size() - 1 > kMostColumns)
    return wrong("at most " + std::to_string(kMostColumns) + " columns beside time_s");
  for (const std::string_view name : std::span(names).subspan(1)) {
    if (name.empty() || std::ranges::count(names, name) > 1)
      return wrong("a name of its own for each column");
    columns_.emplace_back(name);
  }
}

std::optional<RecordedRow> RecordedRows::next() {
  if (!fault_.empty() || !read_line()) return std::nullopt;
  const auto cells = cells_of(line_);
  if (cells.size() != columns_.size() + 1) {
    wrong(std::to_string(columns_.size() + 1) + " cells, as there are names");
    return std::nullopt;
  }
  RecordedRow row;
  row.values = before_ ? before_->values : std::vector<double>(columns_.size(), RecordedRow::kNone);
  const auto time_s = finite_number(cells.front());
  if (!time_s || std::abs(*time_s) > kLongestRun_s) {
    wrong("a time in seconds");
    return std::nullopt;
  }
  row.time_us = std::llround(*time_s * 1e6);
  if (before_ && row.time_us <= before_->time_us) wrong("a time above that of the row before");
  for (std::size_t i = 0; i < columns_.size(); ++i) read_cell(cells[i + 1], row.values[i]);
  if (!fault_.empty()) return std::nullopt;
  before_ = row;
  return row;
}

void RecordedRows::read_cell(std::string_view cell, double& value) {
  if (cell.empty()) return;
  if (cell == "none") {
    value = RecordedRow::kNone;
    return;
  }
  if (const auto number = finite_number(cell))
    value = *number;
  else
    wrong("a number, none or nothing in each cell");
}

// False at the end of the file and where a line is too long or cut.
bool RecordedRows::read_line() {
  line_.clear();
  std::streambuf& bytes = *file_->rdbuf();
  constexpr int kEnd = std::char_traits<char>::eof();
  int byte = bytes.sbumpc();
  if (byte == kEnd) return false;
  ++number_;
  for (; byte != kEnd && byte != '\n'; byte = bytes.sbumpc()) {
    if (line_.size() == kLongestLine) {
      wrong("at most " + std::to_string(kLongestLine) + " bytes");
      return false;
    }
    line_.push_back(static_cast<char>(byte));
  }
  if (byte == kEnd) {
    wrong("a line break at its end: the file was cut");
    return false;
  }
  at_ += static_cast<std::streamoff>(line_.size() + 1);
  if (line_.ends_with('\r')) line_.pop_back();
  return true;
}

RecordedRows::Place RecordedRows::place() const { return {at_, number_, before_}; }

void RecordedRows::go_to(const Place& place) {
  at_ = place.at;
  number_ = place.line;
  before_ = place.before;
  file_->clear();
  file_->seekg(at_);
  if (!*file_) wrong("a file in which one can go back");
}

void RecordedRows::wrong(const std::string& what) {
  if (fault_.empty()) fault_ = "line " + std::to_string(number_) + ": expected " + what;
}

}  // namespace endgate::daemon

#include "daemon/exchange/table.h"

#include <algorithm>
#include <set>

#include "daemon/definitions/nearest_name.h"
#include "daemon/exchange/csv_reader.h"
#include "daemon/exchange/json_line.h"
#include "schema/canonical_bytes.h"

namespace endgate::daemon {
namespace {

constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
constexpr std::size_t kMostFound = 60;  // of a field, shown to a person
constexpr std::size_t kMostFaults = 1000;

std::string without_controls(std::string text) {
  for (char& c : text)
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) c = ' ';
  return text;
}

// At most so many bytes, cut between two characters.
std::string shortened(const std::string& text) {
  if (text.size() <= kMostFound) return text;
  std::size_t end = kMostFound;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) --end;
  return text.substr(0, end) + "…";
}

std::int64_t line_at(std::string_view text, std::size_t at) {
  return 1 + std::ranges::count(text.substr(0, at), '\n');
}

TableFault of_file(std::int64_t line, std::string found, std::string expected) {
  return {
      .line = line, .found = std::move(found), .expected = std::move(expected), .of_file = true};
}

bool is_forbidden(char c) {
  const auto byte = static_cast<unsigned char>(c);
  return (byte < 0x20 && c != '\t' && c != '\n' && c != '\r') || byte == 0x7F;
}

// The first line that is not UTF-8, given that one is not.
std::int64_t broken_line(std::string_view text) {
  std::int64_t line = 1;
  for (std::size_t at = 0; at < text.size(); ++line) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    if (!schema::is_utf8(text.substr(at, end - at))) break;
    at = end + 1;
  }
  return line;
}

std::optional<TableFault> unreadable(std::string_view text) {
  if (text.size() > kMostTableBytes)
    return of_file(1, std::to_string(text.size()) + " bytes",
                   "at most " + std::to_string(kMostTableBytes) + "; split the file");
  const auto control = std::ranges::find_if(text, is_forbidden);
  if (control != text.end())
    return of_file(line_at(text, static_cast<std::size_t>(control - text.begin())),
                   "a control character", "a text file");
  if (!schema::is_utf8(text))
    return of_file(broken_line(text), "bytes that are not UTF-8", "UTF-8");
  return std::nullopt;
}

bool has(const std::vector<std::string>& names, const std::string& name) {
  return std::ranges::find(names, name) != names.end();
}

// What is wrong with a name, or nothing.
std::optional<TableFault> unknown(const TableShape& shape, const std::string& name,
                                  std::int64_t line) {
  if (has(shape.known, name) || has(shape.left_out, name)) return std::nullopt;
  const std::string nearest = nearest_name(name, shape.known);
  return TableFault{.line = line,
                    .column = name,
                    .found = "a column that is not known",
                    .expected = nearest.empty() ? "a known name, or this one left out"
                                                : "\"" + nearest + "\", or this one left out"};
}

class TableReader {
 public:
  TableReader(const TableShape& shape, const TakeRow& take) : shape_(shape), take_(take) {}

  std::vector<TableFault> csv(std::string_view text) {
    CsvReader reader(text);
    const auto heading = reader.next();
    if (heading && heading_is_good(*heading))
      while (const auto record = reader.next())
        if (!record->is_blank() && !csv_row(*heading, *record)) break;
    if (reader.fault()) faults_.push_back(*reader.fault());
    return finished();
  }

  std::vector<TableFault> json_lines(std::string_view text) {
    std::int64_t number = 0;
    for (std::size_t at = 0; at < text.size();) {
      const std::size_t end = std::min(text.find('\n', at), text.size());
      std::string_view line = text.substr(at, end - at);
      if (line.ends_with('\r')) line.remove_suffix(1);
      at = end + 1;
      ++number;
      if (!line.empty() && !json_row(line, number)) break;
    }
    return finished();
  }

 private:
  bool heading_is_good(const CsvRecord& heading) {
    const std::size_t before = faults_.size();
    std::set<std::string> seen;
    for (const std::string& name : heading.fields) {
      if (auto fault = unknown(shape_, name, heading.line)) faults_.push_back(std::move(*fault));
      if (!seen.insert(name).second)
        faults_.push_back({heading.line, name, "the same column twice", "each column once"});
    }
    for (const std::string& name : shape_.needed)
      if (!seen.contains(name))
        faults_.push_back({heading.line, name, "no such column", "this column"});
    if (heading.fields.size() == 1 && heading.fields[0].find(';') != std::string::npos)
      faults_.push_back(
          {heading.line, "", "semicolons", "commas between columns, points in numbers"});
    for (std::size_t i = before; i < faults_.size(); ++i) faults_[i].of_file = true;
    return faults_.size() == before;
  }

  bool csv_row(const CsvRecord& heading, const CsvRecord& record) {
    if (record.fields.size() != heading.fields.size()) {
      faults_.push_back({record.line, "", std::to_string(record.fields.size()) + " fields",
                         std::to_string(heading.fields.size()) + " as in the heading"});
      return counted(record.line);
    }
    TableRow row{.line = record.line, .columns = heading.fields};
    for (const std::string& field : record.fields)
      row.cells.push_back({field.empty() ? Cell::Kind::missing : Cell::Kind::plain, field});
    return give(std::move(row));
  }

  bool json_row(std::string_view text, std::int64_t line) {
    auto read = read_json_line(text, line);
    if (auto* fault = std::get_if<TableFault>(&read)) {
      faults_.push_back(std::move(*fault));
      return counted(line);
    }
    TableRow& row = std::get<TableRow>(read);
    const std::size_t before = faults_.size();
    for (const std::string& name : row.columns)
      if (auto fault = unknown(shape_, name, line)) faults_.push_back(std::move(*fault));
    return faults_.size() == before ? give(std::move(row)) : counted(line);
  }

  bool give(TableRow row) {
    if (!counted(row.line)) return false;
    for (std::size_t i = row.columns.size(); i-- > 0;)
      if (has(shape_.left_out, row.columns[i])) {
        row.columns.erase(row.columns.begin() + static_cast<std::ptrdiff_t>(i));
        row.cells.erase(row.cells.begin() + static_cast<std::ptrdiff_t>(i));
      }
    for (TableFault& fault : take_(row)) faults_.push_back(std::move(fault));
    return true;
  }

  // False: there are more rows, or more wrong, than one file may hold.
  bool counted(std::int64_t line) {
    if (++rows_ <= kMostTableRows && faults_.size() <= kMostFaults) return true;
    if (rows_ > kMostTableRows)
      faults_.push_back(of_file(line, "more rows",
                                "at most " + std::to_string(kMostTableRows) + "; split the file"));
    else
      faults_.push_back(of_file(line, "more and more faults", "a table of this form"));
    return false;
  }

  std::vector<TableFault> finished() {
    if (rows_ == 0 && faults_.empty()) faults_.push_back(of_file(1, "no row", "at least one"));
    return std::move(faults_);
  }

  const TableShape& shape_;
  const TakeRow& take_;
  std::vector<TableFault> faults_;
  std::size_t rows_ = 0;
};

}  // namespace

std::optional<TableForm> table_form_of(std::string_view file_name) {
  if (file_name.ends_with(".csv")) return TableForm::csv;
  if (file_name.ends_with(".jsonl") || file_name.ends_with(".ndjson")) return TableForm::json_lines;
  return std::nullopt;
}

const Cell& TableRow::at(std::string_view column) const {
  static const Cell kNone{};
  const auto found = std::ranges::find(columns, column);
  return found == columns.end() ? kNone : cells[static_cast<std::size_t>(found - columns.begin())];
}

std::string say(const TableFault& fault, const std::string& before_line) {
  std::string text = before_line + std::to_string(fault.line) + ": ";
  if (!fault.column.empty())
    text += "column \"" + shortened(without_controls(fault.column)) + "\": ";
  return text + "found " + shortened(without_controls(fault.found)) + ", expected " +
         fault.expected;
}

std::vector<TableFault> read_table(std::string_view text, TableForm form, const TableShape& shape,
                                   const TakeRow& take) {
  if (auto fault = unreadable(text)) return {std::move(*fault)};
  if (text.starts_with(kByteOrderMark)) text.remove_prefix(kByteOrderMark.size());
  TableReader reader(shape, take);
  return form == TableForm::csv ? reader.csv(text) : reader.json_lines(text);
}

}  // namespace endgate::daemon

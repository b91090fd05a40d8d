#include "daemon/exchange/csv_reader.h"

#include <algorithm>

namespace endgate::daemon {

bool CsvRecord::is_blank() const {
  return std::ranges::all_of(fields, [](const std::string& field) { return field.empty(); });
}

std::optional<CsvRecord> CsvReader::next() {
  if (fault_ || at_ == text_.size()) return std::nullopt;
  CsvRecord record{.line = line_};
  for (;;) {
    const After after = read_field(record.fields.emplace_back());
    if (after == After::fault) return std::nullopt;
    if (after == After::record) return record;
  }
}

CsvReader::After CsvReader::read_field(std::string& field) {
  return at_ < text_.size() && text_[at_] == '"' ? read_quoted(field) : read_plain(field);
}

CsvReader::After CsvReader::read_plain(std::string& field) {
  const std::size_t end = std::min(text_.find_first_of(",\r\n\"", at_), text_.size());
  field = text_.substr(at_, end - at_);
  at_ = end;
  if (at_ < text_.size() && text_[at_] == '"')
    return wrong("a quote inside a field", "a field with quotes to stand in quotes itself");
  return end_of_field();
}

CsvReader::After CsvReader::read_quoted(std::string& field) {
  for (++at_;;) {
    const std::size_t quote = text_.find('"', at_);
    if (quote == std::string_view::npos)
      return wrong("a quote that is never closed", "a second quote before the end of the file");
    const std::string_view part = text_.substr(at_, quote - at_);
    field += part;
    line_ += std::ranges::count(part, '\n');
    at_ = quote + 1;
    if (at_ == text_.size() || text_[at_] != '"') return end_of_field();
    field += '"';
    ++at_;
  }
}

CsvReader::After CsvReader::end_of_field() {
  if (at_ == text_.size())
    return wrong("the end of the file", "a line break after the last row; the file may be cut");
  if (text_[at_] == ',') return ++at_, After::field;
  if (text_.substr(at_, 2) == "\r\n") ++at_;
  if (text_[at_] != '\n')
    return wrong(text_[at_] == '\r' ? "a carriage return alone" : "text after a closing quote",
                 "a comma or the end of the line");
  ++at_;
  ++line_;
  return After::record;
}

CsvReader::After CsvReader::wrong(const std::string& found, const std::string& expected) {
  fault_ = TableFault{.line = line_, .found = found, .expected = expected, .of_file = true};
  return After::fault;
}

}  // namespace endgate::daemon

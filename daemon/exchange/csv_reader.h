// Which records does a CSV text hold?
//
// RFC 4180: fields between commas, records end in CR LF (LF alone is taken too), a field with
// comma, quote or line break stands in quotes, a quote inside is doubled.  Two rules are stricter
// than the RFC: the last record must end in a line break too, since a file that was cut would
// otherwise end in half a number; and a CR alone ends nothing.
//
// Thread safety: one thread per reader.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/exchange/table.h"

namespace endgate::daemon {

struct CsvRecord {
  std::int64_t line = 0;  // where it begins
  std::vector<std::string> fields{};

  [[nodiscard]] bool is_blank() const;  // every field is empty
};

class CsvReader {
 public:
  explicit CsvReader(std::string_view text) : text_(text) {}

  // Nothing at the end, or where the text is no CSV: then fault() says why.
  [[nodiscard]] std::optional<CsvRecord> next();
  [[nodiscard]] const std::optional<TableFault>& fault() const { return fault_; }

 private:
  enum class After { field, record, fault };
  After read_field(std::string& field);
  After read_plain(std::string& field);
  After read_quoted(std::string& field);
  After end_of_field();
  After wrong(const std::string& found, const std::string& expected);

  std::string_view text_;
  std::size_t at_ = 0;
  std::int64_t line_ = 1;
  std::optional<TableFault> fault_;
};

}  // namespace endgate::daemon

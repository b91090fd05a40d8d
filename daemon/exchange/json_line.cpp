#include "daemon/exchange/json_line.h"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace endgate::daemon {
namespace {

using nlohmann::json;

// Takes the events of the library's parser for one flat object; false ends the parsing.
class FlatObject : public nlohmann::json_sax<json> {
 public:
  explicit FlatObject(std::int64_t line) { row_.line = line; }

  bool null() override { return add(Cell::Kind::missing, ""); }
  bool boolean(bool value) override { return add(Cell::Kind::other, value ? "true" : "false"); }
  bool number_integer(number_integer_t value) override {
    return add(Cell::Kind::number, std::to_string(value));
  }
  bool number_unsigned(number_unsigned_t value) override {
    return add(Cell::Kind::number, std::to_string(value));
  }
  bool number_float(number_float_t, const string_t& written) override {
    return add(Cell::Kind::number, written);
  }
  bool string(string_t& value) override { return add(Cell::Kind::text, value); }
  bool binary(binary_t&) override { return false; }  // not of JSON texts
  bool start_object(std::size_t) override {
    if (inside_) return wrong(column(), "an object", "a text, a number or null");
    return inside_ = true;
  }
  bool key(string_t& name) override {
    if (std::ranges::find(row_.columns, name) != row_.columns.end())
      return wrong(name, "the same name twice", "each name once");
    row_.columns.push_back(name);
    return true;
  }
  bool end_object() override { return true; }
  bool start_array(std::size_t) override {
    return wrong(column(), "a list", inside_ ? "a text, a number or null" : "an object");
  }
  bool end_array() override { return false; }
  bool parse_error(std::size_t position, const std::string&, const json::exception&) override {
    return wrong("", "no JSON at byte " + std::to_string(position) + " of the line",
                 "one whole JSON object");
  }

  [[nodiscard]] const std::optional<TableFault>& fault() const { return fault_; }
  [[nodiscard]] TableRow take() { return std::move(row_); }

 private:
  bool add(Cell::Kind kind, std::string written) {
    if (!inside_) return wrong("", "a value alone", "one JSON object");
    row_.cells.push_back({kind, std::move(written)});
    return true;
  }
  bool wrong(const std::string& column, const std::string& found, const std::string& expected) {
    fault_ = {.line = row_.line, .column = column, .found = found, .expected = expected};
    return false;
  }
  [[nodiscard]] std::string column() const {
    return row_.columns.empty() ? "" : row_.columns.back();
  }

  TableRow row_;
  bool inside_ = false;
  std::optional<TableFault> fault_;
};

}  // namespace

std::variant<TableRow, TableFault> read_json_line(std::string_view text, std::int64_t line) {
  FlatObject object(line);
  if (json::sax_parse(text, &object)) return object.take();
  return object.fault().value_or(TableFault{.line = line, .expected = "one JSON object"});
}

}  // namespace endgate::daemon

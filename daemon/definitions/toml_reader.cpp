#include "daemon/definitions/toml_reader.h"

#include <algorithm>
#include <cmath>

#include "daemon/definitions/nearest_name.h"

namespace endgate::daemon {
namespace {

TextPosition position_of_source(const toml::source_region& region) {
  return {static_cast<int>(region.begin.line), static_cast<int>(region.begin.column)};
}

std::string list_of(const std::vector<std::string>& words) {
  std::string list;
  for (const std::string& word : words) list += (list.empty() ? "\"" : ", \"") + word + "\"";
  return list;
}

constexpr const char* kMissing = ", but the key is missing";

}  // namespace

const toml::node* TomlReader::find(std::string_view key) {
  asked_.emplace_back(key);
  return table_.get(key);
}

const toml::node* TomlReader::require(std::string_view key, const std::string& expected) {
  const toml::node* node = find(key);
  if (node == nullptr) complain(key, expected + kMissing);
  return node;
}

std::string TomlReader::path_of(std::string_view key) const {
  return path_.empty() ? std::string(key) : path_ + "." + std::string(key);
}

TextPosition TomlReader::position_of(std::string_view key) const {
  const toml::node* node = table_.get(key);
  const TextPosition at = position_of_source(node == nullptr ? table_.source() : node->source());
  return at.line > 0 ? at : TextPosition{1, 1};
}

bool TomlReader::sound(std::string_view key) const {
  return has(key) && std::ranges::find(faulty_, key) == faulty_.end();
}

void TomlReader::complain(std::string_view key, std::string expected) {
  faulty_.emplace_back(key);
  findings_.add(position_of(key), path_of(key), std::move(expected));
}

std::optional<double> TomlReader::finite_number(const toml::node& node, std::string_view key,
                                                const NumberRange& range) {
  const std::optional<double> value = node.is_number() ? node.value<double>() : std::nullopt;
  if (!value)
    complain(key, range.words("a number"));
  else if (!std::isfinite(*value))
    complain(key, range.words("a finite number") + ", found inf or nan");
  else if (!range.holds(*value))
    complain(key, range.words("a number") + ", found " + plain_number(*value));
  else
    return value;
  return std::nullopt;
}

double TomlReader::number(std::string_view key, const NumberRange& range) {
  const toml::node* node = require(key, range.words("a number"));
  if (node == nullptr) return 0;
  return finite_number(*node, key, range).value_or(0);
}

double TomlReader::number_or(std::string_view key, double fallback, const NumberRange& range) {
  return maybe_number(key, range).value_or(fallback);
}

std::optional<double> TomlReader::maybe_number(std::string_view key, const NumberRange& range) {
  const toml::node* node = find(key);
  if (node == nullptr) return std::nullopt;
  return finite_number(*node, key, range);
}

std::int64_t TomlReader::integer(std::string_view key, std::int64_t min, std::int64_t max) {
  const NumberRange range{.min = static_cast<double>(min), .max = static_cast<double>(max)};
  const std::string expected = range.words("a whole number");
  const toml::node* node = require(key, expected);
  if (node == nullptr) return min;
  const auto* value = node->as_integer();
  if (value != nullptr && value->get() >= min && value->get() <= max) return value->get();
  complain(key, expected);
  return min;
}

std::int64_t TomlReader::integer_or(std::string_view key, std::int64_t fallback, std::int64_t min,
                                    std::int64_t max) {
  if (has(key)) return integer(key, min, max);
  find(key);
  return fallback;
}

std::string TomlReader::text(std::string_view key) {
  const toml::node* node = require(key, "a text");
  if (node == nullptr) return {};
  const auto* value = node->as_string();
  if (value == nullptr || value->get().empty()) {
    complain(key, "a text in quotes, not empty");
    return {};
  }
  return value->get();
}

std::string TomlReader::text_or(std::string_view key, std::string fallback) {
  if (has(key)) return text(key);
  find(key);
  return fallback;
}

bool TomlReader::flag_or(std::string_view key, bool fallback) {
  const toml::node* node = find(key);
  if (node == nullptr) return fallback;
  const auto* value = node->as_boolean();
  if (value != nullptr) return value->get();
  complain(key, "true or false");
  return fallback;
}

std::chrono::milliseconds TomlReader::milliseconds_or(std::string_view key,
                                                      std::chrono::milliseconds fallback) {
  constexpr std::int64_t kOneHour = 3'600'000;
  return std::chrono::milliseconds(integer_or(key, fallback.count(), 1, kOneHour));
}

std::vector<double> TomlReader::numbers(std::string_view key, const NumberRange& range) {
  std::vector<double> values;
  const std::string expected = "a list, not empty, each " + range.words("a number");
  const toml::node* node = require(key, expected);
  if (node == nullptr) return values;
  const toml::array* array = node->as_array();
  if (array == nullptr || array->empty()) {
    complain(key, expected);
    return values;
  }
  for (const toml::node& entry : *array)
    if (const std::optional<double> value = finite_number(entry, key, range))
      values.push_back(*value);
  return values;
}

std::vector<std::string> TomlReader::texts(std::string_view key) {
  std::vector<std::string> values;
  const std::string expected = "a list of texts, not empty";
  const toml::node* node = require(key, expected);
  if (node == nullptr) return values;
  const toml::array* array = node->as_array();
  if (array == nullptr || array->empty() || !array->is_homogeneous<std::string>()) {
    complain(key, expected);
    return values;
  }
  for (const toml::node& entry : *array) values.push_back(entry.as_string()->get());
  return values;
}

std::vector<std::int64_t> TomlReader::integers_or_none(std::string_view key) {
  std::vector<std::int64_t> values;
  const toml::node* node = find(key);
  if (node == nullptr) return values;
  const toml::array* array = node->as_array();
  if (array == nullptr || !(array->empty() || array->is_homogeneous<std::int64_t>())) {
    complain(key, "a list of whole numbers");
    return values;
  }
  for (const toml::node& entry : *array) values.push_back(entry.as_integer()->get());
  return values;
}

std::optional<std::size_t> TomlReader::index_of_word(std::string_view key,
                                                     const std::vector<std::string>& words) {
  const std::string expected = "one of " + list_of(words);
  const toml::node* node = require(key, expected);
  if (node == nullptr) return std::nullopt;
  const auto* value = node->as_string();
  const std::string written = value == nullptr ? std::string() : value->get();
  const auto found = std::ranges::find(words, written);
  if (found != words.end()) return static_cast<std::size_t>(found - words.begin());
  const std::string nearest = nearest_name(written, words);
  complain(key, expected + ", found \"" + written + "\"" +
                    (nearest.empty() ? "" : "; did you mean \"" + nearest + "\"?"));
  return std::nullopt;
}

std::size_t TomlReader::section(std::string_view key, const Read& read) {
  const toml::node* node = find(key);
  if (node == nullptr) return 0;
  const toml::table* table = node->as_table();
  if (table == nullptr) {
    complain(key, "a table");
    return 0;
  }
  TomlReader reader(*table, path_of(key), findings_);
  read(reader);
  reader.complain_of_unknown_keys();
  return 1;
}

std::size_t TomlReader::each(std::string_view key, const Read& read) {
  const toml::node* node = find(key);
  if (node == nullptr) return 0;
  const toml::array* array = node->as_array();
  if (array == nullptr || !(array->empty() || array->is_homogeneous<toml::table>())) {
    complain(key, "tables, each headed [[" + path_of(key) + "]]");
    return 0;
  }
  std::size_t count = 0;
  for (const toml::node& entry : *array) {
    ++count;
    TomlReader reader(*entry.as_table(), path_of(key) + "[" + std::to_string(count) + "]",
                      findings_);
    read(reader);
    reader.complain_of_unknown_keys();
  }
  return count;
}

void TomlReader::complain_of_unknown_keys() {
  for (const auto& [key, node] : table_) {
    if (std::ranges::find(asked_, key.str()) != asked_.end()) continue;
    const std::string nearest = nearest_name(key.str(), asked_);
    findings_.add(position_of_source(key.source()), path_of(key.str()),
                  "no key of this name here" +
                      (nearest.empty() ? std::string() : "; did you mean \"" + nearest + "\"?"));
  }
}

}  // namespace endgate::daemon

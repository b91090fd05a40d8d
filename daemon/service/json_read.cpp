#include "daemon/service/json_read.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "daemon/service/target.h"

namespace endgate::daemon {
namespace {

using nlohmann::json;

constexpr std::size_t kMostDepth = 16;
constexpr std::size_t kMostText = 200;

// Builds the value and keeps two promises that the library does not: no key twice, no depth
// without bound.
class StrictReader : public nlohmann::detail::json_sax_dom_parser<json> {
  using Base = nlohmann::detail::json_sax_dom_parser<json>;

 public:
  explicit StrictReader(json& into) : Base(into, false) {}

  bool start_object(std::size_t size) {
    keys_.emplace_back();
    return deeper() && Base::start_object(size);
  }
  bool end_object() {
    keys_.pop_back();
    --depth_;
    return Base::end_object();
  }
  bool start_array(std::size_t size) { return deeper() && Base::start_array(size); }
  bool end_array() {
    --depth_;
    return Base::end_array();
  }
  bool key(std::string& name) {
    if (!keys_.back().insert(name).second) {
      wrong_ = "The key \"" + name + "\" stands twice.";
      return false;
    }
    return Base::key(name);
  }
  bool parse_error(std::size_t position, const std::string&, const nlohmann::detail::exception&) {
    wrong_ = "The body is not JSON, at byte " + std::to_string(position) + ".";
    return false;
  }
  [[nodiscard]] const std::string& wrong() const { return wrong_; }

 private:
  bool deeper() {
    if (++depth_ <= kMostDepth) return true;
    wrong_ = "The body is nested deeper than 16.";
    return false;
  }

  std::vector<std::set<std::string>> keys_;
  std::size_t depth_ = 0;
  std::string wrong_;
};

bool known(const CommandShape& shape, const std::string& key) {
  const auto has = [&](const auto& list) {
    return std::find(list.begin(), list.end(), key) != list.end();
  };
  return has(shape.needed) || has(shape.optional);
}

bool is_lines_of_text(std::string text) {
  std::erase_if(text, [](char c) { return c == '\n' || c == '\r' || c == '\t'; });
  return is_plain_text(text);
}

// Empty: the pair is fine.
std::string wrong_pair(const CommandShape& shape, const std::string& key, const json& value) {
  if (!is_plain_text(key) || !known(shape, key))
    return "The body has a key that is not known here.";
  if (!value.is_string()) return "\"" + key + "\" must be a text.";
  const std::string& text = value.get_ref<const std::string&>();
  if (key == shape.long_text)
    return is_lines_of_text(text) ? "" : "\"" + key + "\" has a control character.";
  if (text.size() > kMostText) return "\"" + key + "\" is longer than 200 bytes.";
  return is_plain_text(text) ? "" : "\"" + key + "\" has a control character.";
}

std::variant<Fields, BadBody> fields_of(const json& value, const CommandShape& shape) {
  if (!value.is_object()) return BadBody{"The body must be one JSON object."};
  Fields fields;
  for (const auto& [key, item] : value.items()) {
    if (std::string wrong = wrong_pair(shape, key, item); !wrong.empty()) return BadBody{wrong};
    fields[key] = item.get<std::string>();
  }
  for (const std::string_view key : shape.needed)
    if (!fields.contains(std::string(key)))
      return BadBody{"\"" + std::string(key) + "\" is missing."};
  return fields;
}

}  // namespace

std::variant<Fields, BadBody> read_fields(std::string_view body, const CommandShape& shape) {
  json value;
  StrictReader reader(value);
  if (!json::sax_parse(body, &reader)) {
    const std::string wrong = reader.wrong();
    return BadBody{wrong.empty() ? "The body is not JSON." : wrong};
  }
  return fields_of(value, shape);
}

}  // namespace endgate::daemon

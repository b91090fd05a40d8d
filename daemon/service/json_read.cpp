#include "daemon/service/json_read.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "daemon/service/target.h"

namespace endgate::daemon {
namespace {

using BodyJson = nlohmann::json;

constexpr int kMostDepth = 16;
constexpr std::size_t kMostText = 200;

BadBody not_json(const std::string& where) { return {"The body is not JSON" + where + "."}; }

// Two promises that the library does not make by itself: no key twice, no depth without bound.
std::variant<BodyJson, BadBody> parsed(std::string_view body) {
  std::string wrong;
  std::vector<std::set<std::string>> keys;  // of the objects that are open
  const auto watch = [&](int depth, BodyJson::parse_event_t event, const BodyJson& item) {
    if (depth > kMostDepth) wrong = "The body is nested deeper than 16.";
    if (event == BodyJson::parse_event_t::object_start) keys.emplace_back();
    if (event == BodyJson::parse_event_t::object_end) keys.pop_back();
    if (event == BodyJson::parse_event_t::key &&
        !keys.back().insert(item.get<std::string>()).second)
      wrong = "The key \"" + item.get<std::string>() + "\" stands twice.";
    return wrong.empty();
  };
  try {
    BodyJson value = BodyJson::parse(body, watch);
    if (!wrong.empty()) return BadBody{wrong};
    return value;
  } catch (const BodyJson::parse_error& error) {
    return not_json(", at byte " + std::to_string(error.byte));
  } catch (const BodyJson::exception&) {
    return not_json("");
  }
}

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
std::string wrong_pair(const CommandShape& shape, const std::string& key, const BodyJson& value) {
  if (!is_plain_text(key) || !known(shape, key))
    return "The body has a key that is not known here.";
  if (!value.is_string()) return "\"" + key + "\" must be a text.";
  const std::string& text = value.get_ref<const std::string&>();
  if (key == shape.long_text)
    return is_lines_of_text(text) ? "" : "\"" + key + "\" has a control character.";
  if (text.size() > kMostText) return "\"" + key + "\" is longer than 200 bytes.";
  return is_plain_text(text) ? "" : "\"" + key + "\" has a control character.";
}

std::variant<Fields, BadBody> fields_of(const BodyJson& value, const CommandShape& shape) {
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
  const auto value = parsed(body);
  if (const auto* bad = std::get_if<BadBody>(&value)) return *bad;
  return fields_of(std::get<BodyJson>(value), shape);
}

}  // namespace endgate::daemon

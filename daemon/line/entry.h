// The fields of one entry as they were typed, read with care: remembers the first thing that is
// wrong.

#pragma once

#include <algorithm>
#include <charconv>
#include <cstdio>
#include <map>
#include <optional>
#include <string>
#include <variant>

#include "daemon/line/application.h"

namespace endgate::daemon {

// As they were typed; a number that is empty is not known.
using EntryFields = std::map<std::string, std::string>;

inline CommandRefusal nothing_kept(const std::string& code, const std::string& sentence) {
  return {422, code, sentence + " Nothing was kept."};
}

class Entry {
 public:
  explicit Entry(const EntryFields& fields) : fields_(fields) {}

  std::string text(const std::string& key) const {
    const auto found = fields_.find(key);
    return found == fields_.end() ? "" : trimmed(found->second);
  }
  std::string need(const std::string& key, const std::string& what) {
    const std::string given = text(key);
    if (given.empty() && wrong_.empty()) wrong_ = "Say " + what + ".";
    return given;
  }
  std::optional<double> number(const std::string& key, double most) {
    const std::string given = text(key);
    if (given.empty()) return std::nullopt;
    double value = 0;
    const char* const end = given.data() + given.size();
    const auto read = std::from_chars(given.data(), end, value);
    if (read.ec == std::errc() && read.ptr == end && value >= 0 && value <= most) return value;
    if (wrong_.empty()) {
      char bound[24];
      std::snprintf(bound, sizeof bound, "%.0f", most);
      std::string name = key;
      std::ranges::replace(name, '_', ' ');
      wrong_ = name + " is a number from 0 to " + bound + ", not \"" + given + "\"" +
               (given.find(',') == std::string::npos ? "." : "; write a decimal point.");
    }
    return std::nullopt;
  }
  void complain(const std::string& sentence) {
    if (wrong_.empty()) wrong_ = sentence;
  }
  // The fact, or what is wrong.
  template <class Fact>
  std::variant<Fact, CommandRefusal> answer(const Fact& fact, const std::string& code) const {
    if (wrong_.empty()) return fact;
    return nothing_kept(code, wrong_);
  }

  static std::string trimmed(const std::string& text) {
    const auto first = text.find_first_not_of(" \t");
    if (first == std::string::npos) return "";
    return text.substr(first, text.find_last_not_of(" \t") - first + 1);
  }

 private:
  const EntryFields& fields_;
  std::string wrong_;
};

}  // namespace endgate::daemon

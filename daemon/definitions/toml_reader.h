// What does this TOML table say, and is each value of the right kind?
//
// A reader asks for keys by name; each answer that is missing or wrong becomes a finding with
// file, line, column and key, and a harmless value is returned so that reading goes on.  Keys that
// nobody asked for are findings too.  Array entries are counted from 1: "channel[3].scale_si".
//
// Traps handled here once: `1` and `1.0` are both numbers; inf and nan are legal TOML and refused.

#pragma once

#include <toml++/toml.h>

#include <chrono>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/definitions/findings.h"
#include "daemon/definitions/number_range.h"

namespace endgate::daemon {

template <class E>
struct NamedValue {
  std::string_view name;
  E value;
};

class TomlReader {
 public:
  using Read = std::function<void(TomlReader&)>;

  TomlReader(const toml::table& table, std::string path, Findings& findings)
      : table_(table), path_(std::move(path)), findings_(findings) {}

  // Required.
  double number(std::string_view key, const NumberRange& range = kAnyNumber);
  std::int64_t integer(std::string_view key, std::int64_t min, std::int64_t max);
  std::string text(std::string_view key);  // not empty
  std::vector<double> numbers(std::string_view key, const NumberRange& range);
  std::vector<std::string> texts(std::string_view key);
  template <class E>
  E word(std::string_view key, std::span<const NamedValue<E>> words);

  // With a fallback that the header of the definition states.
  double number_or(std::string_view key, double fallback, const NumberRange& range = kAnyNumber);
  std::optional<double> maybe_number(std::string_view key, const NumberRange& range = kAnyNumber);
  std::int64_t integer_or(std::string_view key, std::int64_t fallback, std::int64_t min,
                          std::int64_t max);
  std::string text_or(std::string_view key, std::string fallback);
  bool flag_or(std::string_view key, bool fallback);
  std::chrono::milliseconds milliseconds_or(std::string_view key,
                                            std::chrono::milliseconds fallback);
  std::vector<std::int64_t> integers_or_none(std::string_view key);
  template <class E>
  E word_or(std::string_view key, E fallback, std::span<const NamedValue<E>> words);

  // `read` runs for the table, or for each table of the array; its unknown keys are findings.
  // Both return how many tables there were.
  std::size_t section(std::string_view key, const Read& read);
  std::size_t each(std::string_view key, const Read& read);

  [[nodiscard]] bool has(std::string_view key) const { return table_.contains(key); }
  // Present and without complaint so far: what is built on it may be checked too.
  [[nodiscard]] bool sound(std::string_view key) const;
  // At the value of `key`, or at the table when it has none.
  void complain(std::string_view key, std::string expected);
  void complain_of_unknown_keys();

 private:
  const toml::node* find(std::string_view key);
  const toml::node* require(std::string_view key, const std::string& expected);
  std::optional<double> finite_number(const toml::node& node, std::string_view key,
                                      const NumberRange& range);
  std::optional<std::size_t> index_of_word(std::string_view key,
                                           const std::vector<std::string>& words);
  [[nodiscard]] std::string path_of(std::string_view key) const;
  [[nodiscard]] TextPosition position_of(std::string_view key) const;

  const toml::table& table_;
  std::string path_;
  Findings& findings_;
  std::vector<std::string> asked_;
  std::vector<std::string> faulty_;
};

template <class E>
E TomlReader::word(std::string_view key, std::span<const NamedValue<E>> words) {
  std::vector<std::string> names;
  for (const NamedValue<E>& each : words) names.emplace_back(each.name);
  const std::optional<std::size_t> index = index_of_word(key, names);
  return words[index.value_or(0)].value;
}

template <class E>
E TomlReader::word_or(std::string_view key, E fallback, std::span<const NamedValue<E>> words) {
  if (!has(key)) {
    find(key);
    return fallback;
  }
  return word(key, words);
}

}  // namespace endgate::daemon

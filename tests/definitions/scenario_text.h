// A scenario file with one thing changed: the shortest way to a wrong file.

#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/definitions/load.h"

namespace endgate::daemon {

inline std::filesystem::path scenario_folder() {
  return std::filesystem::path(ENDGATE_SOURCE_DIR) / "fixtures" / "scenario";
}

inline std::string scenario_text(const std::string& file) {
  std::ifstream in(scenario_folder() / file, std::ios::binary);
  EXPECT_TRUE(in) << file;
  return {std::istreambuf_iterator<char>(in), {}};
}

// The first `from` becomes `to`.
inline std::string with(std::string text, std::string_view from, std::string_view to) {
  const std::size_t at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return at == std::string::npos ? text : text.replace(at, from.size(), to);
}

// The first line `key = ...` says `value` instead, or is gone when `value` is empty: tests of the
// loaders do not care what the scenario's numbers are tuned to.
inline std::string with_key(std::string text, const std::string& key, const std::string& value) {
  const std::size_t at = text.find("\n" + key + " = ");
  EXPECT_NE(at, std::string::npos) << key;
  if (at == std::string::npos) return text;
  const std::size_t end = text.find('\n', at + 1);
  return text.replace(at, end - at, value.empty() ? "" : "\n" + key + " = " + value);
}

// Where `marker` stands: "12:8", counted from 1.
inline std::string place_of(const std::string& text, std::string_view marker) {
  const std::size_t at = text.find(marker);
  EXPECT_NE(at, std::string::npos) << marker;
  const auto line = 1 + std::count(text.begin(), text.begin() + static_cast<long>(at), '\n');
  const std::size_t start = at == 0 ? std::string::npos : text.rfind('\n', at - 1);
  const std::size_t column = start == std::string::npos ? at + 1 : at - start;
  return std::to_string(line) + ":" + std::to_string(column);
}

template <class T>
std::vector<std::string> texts_of(const Loaded<T>& loaded) {
  std::vector<std::string> texts;
  if (const auto* errors = std::get_if<std::vector<DefinitionError>>(&loaded))
    for (const DefinitionError& error : *errors) texts.push_back(error.text());
  return texts;
}

}  // namespace endgate::daemon

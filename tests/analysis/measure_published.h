// Published values for the tests of the physics: fixtures/published/physics/check_values.toml.

#pragma once

#include <gtest/gtest.h>
#include <toml++/toml.h>

#include <bit>
#include <cmath>
#include <string>
#include <vector>

namespace endgate::analysis::published {

inline const toml::table& physics() {
  static const toml::table table = toml::parse_file(
      std::string(ENDGATE_SOURCE_DIR) + "/fixtures/published/physics/check_values.toml");
  return table;
}

inline double number(const std::string& path) {
  const auto value = physics().at_path(path).value<double>();
  EXPECT_TRUE(value.has_value()) << path;
  return value.value_or(0);
}

inline std::vector<double> numbers(const std::string& path) {
  std::vector<double> values;
  const toml::array* array = physics().at_path(path).as_array();
  EXPECT_NE(array, nullptr) << path;
  if (array != nullptr)
    for (const auto& element : *array) values.push_back(element.value<double>().value_or(0));
  return values;
}

}  // namespace endgate::analysis::published

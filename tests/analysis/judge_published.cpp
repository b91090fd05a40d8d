#include "tests/analysis/judge_published.h"

#include <toml++/toml.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>
#include <stdexcept>

namespace judge {
namespace {

std::string full_path(const std::string& path) {
  return std::string(ENDGATE_SOURCE_DIR) + "/fixtures/published/" + path;
}

std::vector<double> numbers_of_line(const std::string& line) {
  std::vector<double> numbers;
  std::istringstream cells(line);
  for (std::string cell; std::getline(cells, cell, ',');) numbers.push_back(std::stod(cell));
  return numbers;
}

}  // namespace

std::vector<std::vector<double>> published_rows(const std::string& path) {
  std::ifstream file(full_path(path));
  std::string line;
  if (!std::getline(file, line)) throw std::runtime_error("no published data in " + path);
  std::vector<std::vector<double>> rows;
  while (std::getline(file, line))
    if (!line.empty()) rows.push_back(numbers_of_line(line));
  return rows;
}

double published_number(const std::string& path, const std::string& key) {
  const toml::table table = toml::parse_file(full_path(path));
  if (const auto value = table.at_path(key).value<double>()) return *value;
  throw std::runtime_error(path + " has no number " + key);
}

std::vector<double> published_numbers(const std::string& path, const std::string& key) {
  const toml::table table = toml::parse_file(full_path(path));
  const toml::array* array = table.at_path(key).as_array();
  if (array == nullptr) throw std::runtime_error(path + " has no list " + key);
  std::vector<double> numbers;
  for (const toml::node& node : *array) numbers.push_back(node.value<double>().value());
  return numbers;
}

std::string published_text(const std::string& path, const std::string& key) {
  const toml::table table = toml::parse_file(full_path(path));
  if (const auto value = table.at_path(key).value<std::string>()) return *value;
  throw std::runtime_error(path + " has no text " + key);
}

double digits_in_common(double value, double certified) {
  const double error = std::abs(value - certified);
  const double relative = certified == 0 ? error : error / std::abs(certified);
  return relative > 0 ? std::clamp(-std::log10(relative), 0.0, 16.0) : 16.0;
}

}  // namespace judge

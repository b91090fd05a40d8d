// register_map.md is the contract of clients; sensor_table.h is what runs.  They must agree.

#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <sstream>
#include <vector>

#include "tests/simbench/instruments_bench.h"

namespace simbench {
namespace {

using Cells = std::vector<std::string>;

std::string plain(std::string text) {
  for (std::size_t at; (at = text.find("\u2212")) != std::string::npos;) text.replace(at, 3, "-");
  return text;
}

Cells cells_of(const std::string& line) {
  Cells cells;
  std::istringstream stream(line.substr(1));
  for (std::string cell; std::getline(stream, cell, '|');) {
    const std::size_t first = cell.find_first_not_of(' ');
    cells.push_back(first == std::string::npos
                        ? ""
                        : cell.substr(first, cell.find_last_not_of(' ') - first + 1));
  }
  return cells;
}

// Rows of the table below this heading, by their first cell.
std::map<std::string, Cells> table_under(const std::string& heading) {
  std::ifstream file(std::string(ENDGATE_SOURCE_DIR) + "/fixtures/bench/register_map.md");
  std::map<std::string, Cells> rows;
  bool inside = false;
  for (std::string line; std::getline(file, line);) {
    if (line.rfind("## ", 0) == 0) inside = line.rfind("## " + heading, 0) == 0;
    if (!inside || line.rfind("| ", 0) != 0) continue;
    const Cells cells = cells_of(plain(line));
    rows[cells.at(0)] = cells;
  }
  return rows;
}

struct Unit {
  double scale, zero;
};
Unit unit_of(const std::string& text) {
  static const std::map<std::string, Unit> kUnits{{"", {1, 0}},
                                                  {"Pa", {1, 0}},
                                                  {"kPa", {1e3, 0}},
                                                  {"V", {1, 0}},
                                                  {"mV", {1e-3, 0}},
                                                  {"A", {1, 0}},
                                                  {"mA", {1e-3, 0}},
                                                  {"L/min", {1 / 60000.0, 0}},
                                                  {"K", {1, 0}},
                                                  {"r/min", {1 / 60.0, 0}},
                                                  {"\u00b0C", {1, 273.15}},
                                                  {"%", {0.01, 0}}};
  const auto found = kUnits.find(text);
  EXPECT_NE(found, kUnits.end()) << "unit " << text;
  return found == kUnits.end() ? Unit{NAN, 0} : found->second;
}

// The first "number unit" of a cell, in SI; a difference has no zero.
double quantity(const std::string& cell, bool difference = true) {
  const std::size_t first = cell.find_first_of("-0123456789");
  if (first == std::string::npos) return NAN;
  std::size_t length = 0;
  const double number = std::stod(cell.substr(first), &length);
  std::size_t at = first + length;
  if (at < cell.size() && cell[at] == ' ') ++at;
  const std::size_t end = std::min(cell.find_first_of(" ,;+", at), cell.size());
  const Unit unit = unit_of(cell.substr(at, end - at));
  return number * unit.scale + (difference ? 0 : unit.zero);
}

double after(const std::string& cell, const std::string& mark, double otherwise) {
  const std::size_t at = cell.find(mark);
  return at == std::string::npos ? otherwise : quantity(cell.substr(at + mark.size()), false);
}

std::pair<double, double> range_of(const std::string& cell) {
  const std::string dots = " \u2026 ";
  const std::size_t at = cell.find(dots);
  const std::string high = cell.substr(at + dots.size());
  const std::size_t space = high.find(' ');
  const std::string unit = space == std::string::npos ? "" : high.substr(space);
  return {quantity(cell.substr(0, at) + unit, false), quantity(high, false)};
}

const Cells& row_at(const std::map<std::string, Cells>& rows, std::uint16_t address) {
  return rows.at(std::to_string(address));
}

class RegisterMap : public testing::TestWithParam<std::size_t> {
 protected:
  [[nodiscard]] const SensorSpec& spec() const { return kSensors[GetParam()]; }
};

TEST_P(RegisterMap, SaysWhatTheSensorTableSays) {
  static const auto kRows = table_under("Input registers");
  const Cells& row = row_at(kRows, spec().address);
  EXPECT_EQ(row.at(2), spec().is_signed ? "i16" : "u16");
  EXPECT_NEAR(quantity(row.at(3)), spec().count_si, 1e-9 * spec().count_si);
  EXPECT_NEAR(after(row.at(3), "count 0 = ", 0), spec().zero_si, 1e-9);
  EXPECT_NEAR(range_of(row.at(4)).first, spec().min_si, 1e-9);
  EXPECT_NEAR(range_of(row.at(4)).second, spec().max_si, 1e-9);
  EXPECT_DOUBLE_EQ(std::stod(row.at(5)), spec().lag_s);
  EXPECT_NEAR(quantity(row.at(6)), spec().noise_sigma_si, 1e-9 * spec().noise_sigma_si);
  EXPECT_DOUBLE_EQ(std::stod(row.at(7)), spec().noise_correlation_s);
}

TEST_P(RegisterMap, StatesTheCalibrationUncertaintyOfTheSensorTable) {
  static const auto kRows = table_under("Stated calibration");
  const Cells& row = row_at(kRows, spec().address);
  EXPECT_NEAR(quantity(row.at(2)), spec().u_offset_si, 1e-9);
  EXPECT_NEAR(quantity(row.at(3)), spec().u_gain_rel, 1e-12);
}

INSTANTIATE_TEST_SUITE_P(Channels, RegisterMap, testing::Range<std::size_t>(0, kChannelCount),
                         [](const auto& info) { return std::string(kChannelNames[info.param]); });

}  // namespace
}  // namespace simbench

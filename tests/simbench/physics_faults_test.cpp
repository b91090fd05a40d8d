// faults.md is a promise: its figures are computed again here.

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <map>
#include <sstream>
#include <vector>

#include "fixtures/bench/physics/fault_effect.h"
#include "fixtures/bench/physics/plant.h"
#include "fixtures/bench/physics/truth.h"

namespace simbench {
namespace {

using Row = std::vector<std::string>;

Row row_of(const std::string& line) {
  Row cells;
  std::istringstream in(line);
  std::string cell;
  std::getline(in, cell, '|');
  while (std::getline(in, cell, '|')) {
    const auto from = cell.find_first_not_of(' ');
    cells.push_back(
        from == std::string::npos ? "" : cell.substr(from, cell.find_last_not_of(' ') - from + 1));
  }
  return cells;
}

// Rows of the table whose first column is a fault.
std::map<std::string, Row> documented() {
  std::ifstream in(std::string(ENDGATE_SOURCE_DIR) + "/fixtures/bench/faults.md");
  std::map<std::string, Row> rows;
  for (std::string line; std::getline(in, line);)
    if (const Row row = row_of(line); row.size() == 7 && fault_of(row[0])) rows[row[0]] = row;
  return rows;
}

TEST(Faults, AreAllDocumented) {
  const auto rows = documented();
  for (const FaultSight& sight : fault_sights()) {
    const auto row = rows.find(std::string(name_of(sight.fault)));
    ASSERT_NE(row, rows.end()) << name_of(sight.fault);
    EXPECT_EQ(row->second[1], sight.metric.empty() ? "-" : sight.metric);
    EXPECT_EQ(row->second[6], sight.step);
  }
  EXPECT_EQ(fault_sights().size(), kFaultCount);
}

TEST(Faults, MoveTheirMetricAsDocumented) {
  const auto rows = documented();
  for (const FaultSight& sight : fault_sights()) {
    const Row& row = rows.at(std::string(name_of(sight.fault)));
    for (std::size_t m = 0; m < kModels.size(); ++m) {
      const std::string& cell = row[2 + m];
      if (cell == "-" || sight.metric.empty()) continue;
      const double move = 100 * relative_move(kModels[m], sight.fault, sight.metric);
      const double written = std::stod(cell);
      EXPECT_NEAR(move, written, 0.1 + 1e-3 * std::abs(written)) << row[0] << ' ' << m;
      EXPECT_GE(std::abs(move), 10) << row[0] << " would hide in the scatter of healthy units";
    }
  }
}

TEST(Faults, ThatAreNotVisibleMoveNoMetric) {
  for (const FaultSight& sight : fault_sights()) {
    if (!sight.metric.empty()) continue;
    const UnitDesign unit = nominal_design(Model::p2_120_24);
    EXPECT_EQ(truth_of(with_fault(unit, sight.fault, 1)).metrics, truth_of(unit).metrics)
        << name_of(sight.fault);
  }
}

TEST(Faults, AreGraded) {
  const UnitDesign unit = nominal_design(Model::p2_120_24);
  const auto healthy = truth_of(unit).metrics;
  for (const FaultSight& sight : fault_sights()) {
    if (sight.metric.empty() || sight.fault == Fault::no_start ||
        sight.fault == Fault::reversed_leads)
      continue;
    const std::string metric(sight.metric);
    const double nothing = truth_of(with_fault(unit, sight.fault, 0)).metrics.at(metric);
    const double half = truth_of(with_fault(unit, sight.fault, 0.5)).metrics.at(metric);
    const double full = truth_of(with_fault(unit, sight.fault, 1)).metrics.at(metric);
    EXPECT_DOUBLE_EQ(nothing, healthy.at(metric)) << name_of(sight.fault);
    EXPECT_GT(std::abs(half - nothing), 0.2 * std::abs(full - nothing)) << name_of(sight.fault);
    EXPECT_GT(std::abs(full - half), 0.2 * std::abs(full - nothing)) << name_of(sight.fault);
  }
}

TEST(Faults, OfTheTwinLeaveASingleAsItIs) {
  const UnitDesign unit = nominal_design(Model::p1_60_12);
  EXPECT_EQ(with_fault(unit, Fault::dead_cylinder, 1).fault, std::nullopt);
}

// What the step of the sequence would see, cold start and all.
double seen(const UnitDesign& unit, std::string_view metric) {
  Plant plant(unit, {}, {});
  Actuators a{.motor_relay = true, .supply_set_v = unit.nominal_voltage_v};
  const std::size_t digits = metric.rfind('_') + 1;
  a.back_pressure_set_gauge_pa = 1e3 * std::stod(std::string(metric.substr(digits)));
  for (int i = 0; i < 1000; ++i) plant.step(0.01, a);
  if (metric.substr(0, 3) == "fad") return plant.state().meter_flow_std_m3_s;
  return metric == "current_600" ? plant.state().current_a : plant.state().speed_rev_s;
}

TEST(Faults, ShowOnTheBenchInTheirStep) {
  for (const FaultSight& sight : fault_sights()) {
    if (sight.metric.empty() || sight.step == "back_leak" || sight.step == "seal_leak") continue;
    const UnitDesign good = nominal_design(Model::p2_120_24);
    const UnitDesign bad = with_fault(good, sight.fault, 1);
    const double move = seen(bad, sight.metric) / seen(good, sight.metric) - 1;
    const double promised = relative_move(Model::p2_120_24, sight.fault, sight.metric);
    EXPECT_NEAR(move / promised, 1, 0.25) << name_of(sight.fault);
  }
}

}  // namespace
}  // namespace simbench

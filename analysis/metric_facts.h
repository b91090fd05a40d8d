// What is a metric called, and how is its SI value shown to a person?
//
//   shown = factor * SI + offset, in `display_unit`
//
// The ids and their definitions live in schema/metrics.toml; a test keeps this table equal to it.
// A new metric is a new line in both, never a new meaning of an old one.

#pragma once

#include <array>
#include <optional>
#include <string_view>

namespace endgate::analysis {

struct MetricFacts {
  std::string_view id;
  std::string_view name;           // heading: "Free-air delivery, 400 kPa"
  std::string_view sentence_name;  // inside a sentence: "flow at 400 kPa" (U+00A0 before kPa)
  std::string_view si_unit;
  std::string_view display_unit;
  double factor = 1;
  double offset = 0;
  int decimals = 1;  // where no uncertainty says better
};

inline constexpr std::array<MetricFacts, 30> kMetricFacts{{
    {"fad_0", "Free-air delivery, 0 kPa", "flow at 0\u00A0kPa", "m3/s", "L/min", 60000, 0, 1},
    {"fad_200", "Free-air delivery, 200 kPa", "flow at 200\u00A0kPa", "m3/s", "L/min", 60000, 0, 1},
    {"fad_400", "Free-air delivery, 400 kPa", "flow at 400\u00A0kPa", "m3/s", "L/min", 60000, 0, 1},
    {"fad_600", "Free-air delivery, 600 kPa", "flow at 600\u00A0kPa", "m3/s", "L/min", 60000, 0, 1},
    {"fad_800", "Free-air delivery, 800 kPa", "flow at 800\u00A0kPa", "m3/s", "L/min", 60000, 0, 1},
    {"current_600", "Supply current, 600 kPa", "current at 600\u00A0kPa", "A", "A", 1, 0, 2},
    {"speed_600", "Speed, 600 kPa", "speed at 600\u00A0kPa", "rev/s", "r/min", 60, 0, 0},
    {"volumetric_efficiency_400", "Volumetric efficiency, 400 kPa",
     "volumetric efficiency at 400\u00A0kPa", "1", "%", 100, 0, 1},
    {"specific_energy_400", "Specific energy, 400 kPa", "specific energy at 400\u00A0kPa", "J/m3",
     "J/L", 0.001, 0, 0},
    {"dead_head", "Dead-head pressure", "dead-head pressure", "Pa gauge", "kPa gauge", 0.001, 0, 0},
    {"back_leak", "Back leak", "back leak", "m3/s", "cm3/min", 6e7, 0, 1},
    {"seal_leak", "Housing-seal leak", "housing-seal leak", "m3/s", "cm3/min", 6e7, 0, 2},
    {"ripple_speed_400", "Speed by current ripple, 400 kPa", "ripple speed at 400\u00A0kPa",
     "rev/s", "r/min", 60, 0, 0},
    {"ripple_lock_400", "Certainty of the ripple speed, 400 kPa",
     "ripple-speed certainty at 400\u00A0kPa", "1", "%", 100, 0, 2},
    {"cylinder_imbalance_400", "Cylinder imbalance, 400 kPa", "cylinder imbalance at 400\u00A0kPa",
     "1", "%", 100, 0, 1},
    {"commutator_irregularity_400", "Commutator irregularity, 400 kPa",
     "commutator irregularity at 400\u00A0kPa", "1", "%", 100, 0, 1},
    {"duty_peak_head", "Highest head temperature over turns", "highest head temperature", "K",
     "\u00B0C", 1, -273.15, 1},
    {"duty_peak_case", "Highest case temperature over turns", "highest case temperature", "K",
     "\u00B0C", 1, -273.15, 1},
    {"longest_on", "Longest time on from cold", "longest time on", "s", "min", 1.0 / 60, 0, 0},
    {"duty_factor", "Largest share of time on", "share of time on", "1", "%", 100, 0, 0},
    {"duty_cycle", "Length of a turn", "length of a turn", "s", "min", 1.0 / 60, 0, 0},
    {"back_leak_service", "Back leak in service", "back leak in service", "m3/s", "cm3/min", 6e7, 0,
     1},
    {"seal_leak_service", "Housing-seal leak in service", "housing-seal leak in service", "m3/s",
     "cm3/min", 6e7, 0, 2},
    {"machine_constant", "Machine constant", "machine constant", "V s/rad", "mV s/rad", 1000, 0, 2},
    {"winding_resistance", "Winding resistance, 20 \u00B0C", "winding resistance", "ohm", "mohm",
     1000, 0, 1},
    {"brush_drop", "Brush drop", "brush drop", "V", "V", 1, 0, 2},
    {"moment_of_inertia", "Moment of inertia", "moment of inertia", "kg m2", "kg cm2", 10000, 0, 2},
    {"torque_0", "Torque at 0 kPa", "torque at 0\u00A0kPa", "N m", "N m", 1, 0, 3},
    {"motor_efficiency_600", "Motor efficiency, 600 kPa", "motor efficiency at 600\u00A0kPa", "1",
     "%", 100, 0, 1},
    {"isothermal_efficiency_400", "Isothermal efficiency, 400 kPa",
     "isothermal efficiency at 400\u00A0kPa", "1", "%", 100, 0, 1},
}};

// nullptr when no metric has that id.
constexpr const MetricFacts* facts_of_metric(std::string_view id) {
  for (const MetricFacts& facts : kMetricFacts)
    if (facts.id == id) return &facts;
  return nullptr;
}

// The gauge pressure that an id ends in, "fad_400" -> 400e3 Pa; nothing for a metric of no single
// pressure.  The ids are fixed for ever.
constexpr std::optional<double> gauge_pa_of(std::string_view id) {
  const std::size_t underscore = id.rfind('_');
  if (underscore == std::string_view::npos || underscore + 1 == id.size()) return std::nullopt;
  double kpa = 0;
  for (const char digit : id.substr(underscore + 1)) {
    if (digit < '0' || digit > '9') return std::nullopt;
    kpa = 10 * kpa + (digit - '0');
  }
  return 1000 * kpa;
}

}  // namespace endgate::analysis

#include "analysis/operating_point.h"

#include <algorithm>
#include <cmath>

namespace endgate::analysis {
namespace {

void add_readings(const HoldReading& reading, OperatingPoint& point) {
  const PointState& state = reading.state;
  point.inlet_pressure_abs_pa = state.inlet_pressure_abs_pa;
  point.discharge_pressure_abs_pa = state.inlet_pressure_abs_pa + state.discharge_gauge_pa;
  point.flow_inlet_m3_s = reading.flow_inlet_m3_s;
  point.storage_m3_s = reading.storage_m3_s;
  point.speed_rev_s = reading.speed_rev_s;
  point.supply_current_a = reading.supply_current_a;
  point.supply_voltage_v = state.supply_voltage_v;
  point.head_temperature_k = state.head_temperature_k;
  point.case_temperature_k = state.case_temperature_k;
  point.inlet_temperature_k = state.inlet_temperature_k;
  point.relative_humidity = reading.relative_humidity;
}

OperatingPoint labelled(const HoldWindow& hold) {
  OperatingPoint point;
  point.step_id = hold.step->id;
  point.target_gauge_pa = hold.target_gauge_pa;
  point.steady = hold.steady;
  point.note = hold.note;
  point.drift_rel = hold.drift_rel;
  return point;
}

bool finite(const OperatingPoint& point) {
  const double total = point.discharge_pressure_abs_pa + point.inlet_pressure_abs_pa +
                       point.flow_inlet_m3_s + point.flow_u_random_m3_s + point.storage_m3_s +
                       point.speed_rev_s + point.speed_u_random_rev_s + point.supply_current_a +
                       point.current_u_random_a + point.supply_voltage_v + point.drift_rel;
  return std::isfinite(total);
}

OperatingPoint point_of(const Survey& survey, const HoldWindow& hold, const HoldReading& reading) {
  const OperatingPoint bare = labelled(hold);
  if (!hold.window) return bare;
  OperatingPoint point = bare;
  point.window_start_us = bench_time_us(survey, hold.window->start_s);
  point.window_end_us = bench_time_us(survey, hold.window->end_s);
  add_readings(reading, point);
  if (survey.speed_from_ripple && point.note.empty()) point.note = "speed from the current";
  const HoldNoise noise = noise_of(survey, hold, reading);
  point.flow_u_random_m3_s = noise.flow_m3_s;
  point.speed_u_random_rev_s = noise.speed_rev_s;
  point.current_u_random_a = noise.current_a;
  if (finite(point)) return point;
  OperatingPoint empty = bare;
  empty.steady = false;
  empty.drift_rel = 0;
  empty.note = "the readings give no finite number";
  return empty;
}

}  // namespace

std::vector<OperatingPoint> operating_points(const Survey& survey, const Measured& measured) {
  std::vector<OperatingPoint> points;
  points.reserve(survey.holds.size());
  for (std::size_t i = 0; i < survey.holds.size(); ++i)
    points.push_back(point_of(survey, survey.holds[i], measured.holds[i]));
  return points;
}

}  // namespace endgate::analysis

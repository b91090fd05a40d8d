// Everything `evaluate` may know besides the trace: pinned facts, each with the id under which the
// store keeps it.  Nothing else reaches the evaluation: no clock, lot, default or global.
//
// SI throughout.  `u_` is a standard uncertainty (k = 1); `_rel` is relative to the value.

#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "analysis/cause_table.h"
#include "analysis/raw_trace.h"
#include "analysis/ripple_expectation.h"
#include "analysis/role.h"

namespace endgate::analysis {

// Corrected reading = gain * nominal + offset, nominal = scale * raw + offset of the bench file.
struct ChannelCalibration {
  std::string id;  // "calibration north@1"
  double gain = 1;
  double offset_si = 0;
  double u_gain_rel = 0;
  double u_offset_si = 0;
};

struct ChannelFacts {
  std::string id;
  Role role = Role::flow;
  double scale = 1;      // SI per count
  double offset_si = 0;  // SI at count 0
  double range_min_si = 0;
  double range_max_si = 0;
  double period_s = 0.02;               // asked of the poll
  double lag_s = 0;                     // first-order
  double noise_sigma_si = 0;            // of one sample, quantisation apart
  double noise_correlation_s = 0;       // exponential correlation time
  std::optional<double> max_rate_si_s;  // faster is implausible
  std::optional<double> stuck_after_s;  // the same raw value for longer while the motor runs
  double silent_after_s = 0.3;          // no good sample for longer is silence
  ChannelCalibration calibration;
};

struct Receiver {
  std::string name;       // "small", "large"
  std::string constants;  // id of the fact: "constants north@1"
  double volume_m3 = 0;
  double u_volume_rel = 0;
  // Gas-to-wall conductance: G = conductance_w_k * (p_abs / 600 kPa) ^ conductance_exponent
  double conductance_w_k = 0;
  double conductance_exponent = 0.5;
  double u_conductance_rel = 0;
  // Warming of the wall; a heat capacity of 0 means that it stays at room temperature.
  double wall_j_k = 0;
  double wall_to_room_w_k = 0;
  double u_wall_rel = 0.2;  // of the heat capacity
  // Water left in it evaporates in this time once the air above is dry; 0: none ever does.
  double evaporation_s = 0;
  double u_evaporation_rel = 0.5;
};

// The motor's current, sampled fast: short bursts of it stand in the trace under this id.  Only
// frequencies and ratios are taken from it, so it needs no calibration but that of its clock.
struct WaveformFacts {
  std::string id;
  double scale = 1;      // A per count
  double offset_si = 0;  // A at count 0
  double range_min_si = 0;
  double range_max_si = 0;
  double burst_s = 0.5;
  double u_clock_rel = 1e-4;  // of the device's sample clock
};

struct BenchFacts {
  std::string id;
  std::string definition;  // "bench north@1"
  std::vector<ChannelFacts> channels;
  std::vector<Receiver> receivers;
  // Reference state at which the flow meter's litre is defined (dry air of that density).
  double meter_reference_temperature_k = 273.15;
  double meter_reference_pressure_pa = 101325;
  double seal_volume_m3 = 0;  // housing and line
  double u_seal_volume_rel = 0;
  double fixture_back_leak_m3_s = 0;  // at reference inlet state, at the back-leak pressure
  double u_fixture_back_leak_m3_s = 0;
  double fixture_seal_leak_m3_s = 0;
  double u_fixture_seal_leak_m3_s = 0;
  std::optional<WaveformFacts> current_waveform;
};

// Nominal physics of a model: drives sensitivities and priors, never a verdict by itself.
struct NominalPhysics {
  int cylinders = 1;
  double swept_volume_m3 = 0;      // per revolution, all cylinders
  double clearance_ratio = 0;      // clearance / swept
  double polytropic_exponent = 1;  // n of compression and re-expansion, also of the curve
  double heating_factor = 1;       // h
  double suction_loss_pa = 0;      // at 50 rev/s
  double discharge_loss_pa = 0;    // at 50 rev/s
  double mechanical_efficiency = 1;
  double friction_torque_nm = 0;
  double machine_constant_v_s = 0;    // k_e = k_t
  double winding_resistance_ohm = 0;  // at 20 degC
  double brush_drop_v = 0;
  double leak_m3_s_pa2 = 0;  // laminar, rings and reeds together
  // Of all that turns, about the shaft; 0: not known, and currents of a pump-up are not used.
  double moment_of_inertia_kg_m2 = 0;
};

struct ReferenceConditions {
  double inlet_pressure_abs_pa = 100000;
  double inlet_temperature_k = 293.15;
  double supply_voltage_v = 13.5;      // at the unit's terminals
  double warm_head_temperature_k = 0;  // "warm" as the model file defines it
  double warm_case_temperature_k = 0;
  double warm_winding_temperature_k = 0;  // 0: as warm as the case
};

// Learned once per model by a commissioning run: relative change per kelvin above the warm state.
struct ThermalCorrection {
  std::string id;  // "corrections P1-60-12@1"
  double flow_per_head_k = 0;
  double flow_per_case_k = 0;
  double speed_per_case_k = 0;
  double current_per_case_k = 0;
  double u_rel_of_correction = 0.2;  // of each correction applied
  // Gas enters the receiver at ambient + this share of (head - ambient).
  double inlet_gas_head_share = 0.3;
  double u_inlet_gas_head_share = 0.1;
  // By how much the gas is warmer than the balance says when the back-leak dwell begins: run-down
  // and valve are modelled by nobody, but repeat per model.
  double leak_start_k = 0;
  double u_leak_start_k = 2;
  // Share of the drift of the case that the gas in the housing follows in the seal-leak dwell.
  double seal_case_share = 1;
  double u_seal_case_share = 0.3;
  // By how much flow_per_head_k grows with gauge pressure: re-expanding gas is hotter there.
  double flow_per_head_k_pa = 0;
  // Further share in the inlet gas: of the rise by compression, which leads the head by seconds.
  double inlet_gas_discharge_share = 0;
  double u_inlet_gas_discharge_share = 0;
  // Flow goes with this power of speed; 0: the type model says how flow moves with voltage, and
  // flow_per_case_k stands for what the speed contributes.
  double flow_per_speed = 0;
  double u_flow_per_speed = 0;
  // How the winding runs ahead of the case: kelvin per watt of copper loss, time constant.  With
  // it, speed_per_case_k is that of the magnets without load; 0: one temperature for both.
  double winding_k_w = 0;
  double winding_s = 0;
  double u_winding_rel = 0;
  // Of current under load.  A hot head takes less heat from the gas that is compressed: more work,
  // in proportion to the logarithm of the pressure ratio, and per kelvin of head.  And the power
  // of speed beyond what the type model says.
  double current_per_head_k = 0;
  double current_per_speed = 0;
  double u_current_per_speed = 0;
};

// When is a hold steady, and how much of it is used?
struct SteadyRule {
  double settle_s = 4;  // after the set point is reached
  double min_window_s = 2;
  double max_drift_rel = 0.005;  // over the window, of flow
};

// Pressures at which a buyer asks for the leaks, beside those of the test; 0: nobody asks.
struct ServiceConditions {
  double back_leak_gauge_pa = 0;
  double seal_leak_gauge_pa = 0;  // of the housing against the outside: an immersion, a hot unit
};

struct ModelFacts {
  std::string id;
  std::string definition;  // "model P1-60-12@1"
  NominalPhysics nominal;
  ReferenceConditions reference;
  ThermalCorrection thermal;
  SteadyRule steady;
  std::vector<std::string> metrics;  // ids the model asks for
  RippleExpectation ripple;
  ServiceConditions service;
};

enum class GuardRule : std::uint8_t { none = 0, factor = 1 };  // w = factor * u
enum class Severity : std::uint8_t { reject = 0, warn = 1 };

// One point of a band that the curve as drawn must lie in.
struct BandPoint {
  double gauge_pa = 0;
  std::optional<double> lower, upper;  // m3/s, as fad_*
};

// What `metric` may name besides a metric: analysis/limit_subject.h.
struct Limit {
  std::string metric;
  std::optional<double> lower;  // SI, as the metric; the bound itself passes
  std::optional<double> upper;
  GuardRule guard = GuardRule::factor;
  double pass_factor = 1.645;  // w = pass_factor * u, inside the limit
  double fail_factor = 1.645;  // w' = fail_factor * u, outside it
  Severity severity = Severity::reject;
  // Of a relation: the bounds are those of y - (slope x + intercept), SI.
  double slope = 0;
  double intercept = 0;
  std::vector<BandPoint> points{};  // of a band of the curve, ascending; lower and upper are absent
};

// A name for units that pass with room: the first class whose limits are all held.
struct LimitClass {
  std::string name;
  std::vector<Limit> limits;
};

struct LimitSet {
  std::string id;  // "limits P1-60-12@1"
  int version = 0;
  std::vector<Limit> limits;
  std::vector<LimitClass> classes{};  // best first
};

struct Context {
  BenchFacts bench;
  ModelFacts model;
  LimitSet limits;
  CauseTable causes;  // may be empty
};

}  // namespace endgate::analysis

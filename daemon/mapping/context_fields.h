// In which order are the fields of a context and of a trace's marks sealed?  Frozen with format 1;
// schema/README.md shows the same lists.

#pragma once

#include "analysis/context.h"
#include "analysis/raw_trace.h"
#include "schema/canonical.h"

namespace endgate::schema {

inline constexpr std::uint16_t kContextKind = 100;  // beside the kinds of facts
inline constexpr std::uint16_t kMarksKind = 101;

template <>
inline constexpr int kEnumCount<analysis::Role> = static_cast<int>(analysis::kRoleCount);
template <>
inline constexpr int kEnumCount<analysis::GuardRule> = 2;
template <>
inline constexpr int kEnumCount<analysis::Severity> = 2;
template <>
inline constexpr int kEnumCount<analysis::RawKind> = 3;
template <>
inline constexpr int kEnumCount<analysis::Quality> = 3;
template <>
inline constexpr int kEnumCount<analysis::StepKind> = static_cast<int>(analysis::kLastStepKind) + 1;
template <>
inline constexpr int kEnumCount<analysis::StepEnd> = 5;
template <>
inline constexpr int kEnumCount<analysis::TripAccuses> = 2;
template <>
inline constexpr int kEnumCount<analysis::BreakOff> = 12;

#define FIELD(Struct, name) \
  Field { #name, &Struct::name }

template <>
inline constexpr auto kFields<analysis::ChannelCalibration> = std::tuple{
    FIELD(analysis::ChannelCalibration, id), FIELD(analysis::ChannelCalibration, gain),
    FIELD(analysis::ChannelCalibration, offset_si), FIELD(analysis::ChannelCalibration, u_gain_rel),
    FIELD(analysis::ChannelCalibration, u_offset_si)};

template <>
inline constexpr auto kFields<analysis::ChannelFacts> =
    std::tuple{FIELD(analysis::ChannelFacts, id),
               FIELD(analysis::ChannelFacts, role),
               FIELD(analysis::ChannelFacts, scale),
               FIELD(analysis::ChannelFacts, offset_si),
               FIELD(analysis::ChannelFacts, range_min_si),
               FIELD(analysis::ChannelFacts, range_max_si),
               FIELD(analysis::ChannelFacts, period_s),
               FIELD(analysis::ChannelFacts, lag_s),
               FIELD(analysis::ChannelFacts, noise_sigma_si),
               FIELD(analysis::ChannelFacts, noise_correlation_s),
               FIELD(analysis::ChannelFacts, max_rate_si_s),
               FIELD(analysis::ChannelFacts, stuck_after_s),
               FIELD(analysis::ChannelFacts, silent_after_s),
               FIELD(analysis::ChannelFacts, calibration)};

template <>
inline constexpr auto kFields<analysis::Receiver> =
    std::tuple{FIELD(analysis::Receiver, name),
               FIELD(analysis::Receiver, constants),
               FIELD(analysis::Receiver, volume_m3),
               FIELD(analysis::Receiver, u_volume_rel),
               FIELD(analysis::Receiver, conductance_w_k),
               FIELD(analysis::Receiver, conductance_exponent),
               FIELD(analysis::Receiver, u_conductance_rel),
               FIELD(analysis::Receiver, wall_j_k),
               FIELD(analysis::Receiver, wall_to_room_w_k),
               FIELD(analysis::Receiver, u_wall_rel),
               FIELD(analysis::Receiver, evaporation_s),
               FIELD(analysis::Receiver, u_evaporation_rel)};

template <>
inline constexpr auto kFields<analysis::WaveformFacts> = std::tuple{
    FIELD(analysis::WaveformFacts, id),           FIELD(analysis::WaveformFacts, scale),
    FIELD(analysis::WaveformFacts, offset_si),    FIELD(analysis::WaveformFacts, range_min_si),
    FIELD(analysis::WaveformFacts, range_max_si), FIELD(analysis::WaveformFacts, burst_s),
    FIELD(analysis::WaveformFacts, u_clock_rel)};

template <>
inline constexpr auto kFields<analysis::BenchFacts> =
    std::tuple{FIELD(analysis::BenchFacts, id),
               FIELD(analysis::BenchFacts, definition),
               FIELD(analysis::BenchFacts, channels),
               FIELD(analysis::BenchFacts, receivers),
               FIELD(analysis::BenchFacts, meter_reference_temperature_k),
               FIELD(analysis::BenchFacts, meter_reference_pressure_pa),
               FIELD(analysis::BenchFacts, seal_volume_m3),
               FIELD(analysis::BenchFacts, u_seal_volume_rel),
               FIELD(analysis::BenchFacts, fixture_back_leak_m3_s),
               FIELD(analysis::BenchFacts, u_fixture_back_leak_m3_s),
               FIELD(analysis::BenchFacts, fixture_seal_leak_m3_s),
               FIELD(analysis::BenchFacts, u_fixture_seal_leak_m3_s),
               FIELD(analysis::BenchFacts, current_waveform)};
template <>
inline constexpr std::size_t kFieldsAtFirst<analysis::BenchFacts> = 12;

template <>
inline constexpr auto kFields<analysis::NominalPhysics> =
    std::tuple{FIELD(analysis::NominalPhysics, cylinders),
               FIELD(analysis::NominalPhysics, swept_volume_m3),
               FIELD(analysis::NominalPhysics, clearance_ratio),
               FIELD(analysis::NominalPhysics, polytropic_exponent),
               FIELD(analysis::NominalPhysics, heating_factor),
               FIELD(analysis::NominalPhysics, suction_loss_pa),
               FIELD(analysis::NominalPhysics, discharge_loss_pa),
               FIELD(analysis::NominalPhysics, mechanical_efficiency),
               FIELD(analysis::NominalPhysics, friction_torque_nm),
               FIELD(analysis::NominalPhysics, machine_constant_v_s),
               FIELD(analysis::NominalPhysics, winding_resistance_ohm),
               FIELD(analysis::NominalPhysics, brush_drop_v),
               FIELD(analysis::NominalPhysics, leak_m3_s_pa2),
               FIELD(analysis::NominalPhysics, moment_of_inertia_kg_m2)};
template <>
inline constexpr std::size_t kFieldsAtFirst<analysis::NominalPhysics> = 13;

template <>
inline constexpr auto kFields<analysis::ReferenceConditions> =
    std::tuple{FIELD(analysis::ReferenceConditions, inlet_pressure_abs_pa),
               FIELD(analysis::ReferenceConditions, inlet_temperature_k),
               FIELD(analysis::ReferenceConditions, supply_voltage_v),
               FIELD(analysis::ReferenceConditions, warm_head_temperature_k),
               FIELD(analysis::ReferenceConditions, warm_case_temperature_k),
               FIELD(analysis::ReferenceConditions, warm_winding_temperature_k)};
template <>
inline constexpr std::size_t kFieldsAtFirst<analysis::ReferenceConditions> = 5;

template <>
inline constexpr auto kFields<analysis::ThermalCorrection> =
    std::tuple{FIELD(analysis::ThermalCorrection, id),
               FIELD(analysis::ThermalCorrection, flow_per_head_k),
               FIELD(analysis::ThermalCorrection, flow_per_case_k),
               FIELD(analysis::ThermalCorrection, speed_per_case_k),
               FIELD(analysis::ThermalCorrection, current_per_case_k),
               FIELD(analysis::ThermalCorrection, u_rel_of_correction),
               FIELD(analysis::ThermalCorrection, inlet_gas_head_share),
               FIELD(analysis::ThermalCorrection, u_inlet_gas_head_share),
               FIELD(analysis::ThermalCorrection, leak_start_k),
               FIELD(analysis::ThermalCorrection, u_leak_start_k),
               FIELD(analysis::ThermalCorrection, seal_case_share),
               FIELD(analysis::ThermalCorrection, u_seal_case_share),
               FIELD(analysis::ThermalCorrection, flow_per_head_k_pa),
               FIELD(analysis::ThermalCorrection, inlet_gas_discharge_share),
               FIELD(analysis::ThermalCorrection, u_inlet_gas_discharge_share),
               FIELD(analysis::ThermalCorrection, flow_per_speed),
               FIELD(analysis::ThermalCorrection, u_flow_per_speed),
               FIELD(analysis::ThermalCorrection, winding_k_w),
               FIELD(analysis::ThermalCorrection, winding_s),
               FIELD(analysis::ThermalCorrection, u_winding_rel),
               FIELD(analysis::ThermalCorrection, current_per_head_k),
               FIELD(analysis::ThermalCorrection, current_per_speed),
               FIELD(analysis::ThermalCorrection, u_current_per_speed)};
template <>
inline constexpr std::size_t kFieldsAtFirst<analysis::ThermalCorrection> = 12;

template <>
inline constexpr auto kFields<analysis::SteadyRule> =
    std::tuple{FIELD(analysis::SteadyRule, settle_s), FIELD(analysis::SteadyRule, min_window_s),
               FIELD(analysis::SteadyRule, max_drift_rel)};

template <>
inline constexpr auto kFields<analysis::RippleExpectation> =
    std::tuple{FIELD(analysis::RippleExpectation, commutations_per_rev),
               FIELD(analysis::RippleExpectation, slowest_rev_s),
               FIELD(analysis::RippleExpectation, fastest_rev_s)};

template <>
inline constexpr auto kFields<analysis::ServiceConditions> =
    std::tuple{FIELD(analysis::ServiceConditions, back_leak_gauge_pa),
               FIELD(analysis::ServiceConditions, seal_leak_gauge_pa)};

template <>
inline constexpr auto kFields<analysis::ModelFacts> =
    std::tuple{FIELD(analysis::ModelFacts, id),      FIELD(analysis::ModelFacts, definition),
               FIELD(analysis::ModelFacts, nominal), FIELD(analysis::ModelFacts, reference),
               FIELD(analysis::ModelFacts, thermal), FIELD(analysis::ModelFacts, steady),
               FIELD(analysis::ModelFacts, metrics), FIELD(analysis::ModelFacts, ripple),
               FIELD(analysis::ModelFacts, service)};
template <>
inline constexpr std::size_t kFieldsAtFirst<analysis::ModelFacts> = 7;

template <>
inline constexpr auto kFields<analysis::BandPoint> =
    std::tuple{FIELD(analysis::BandPoint, gauge_pa), FIELD(analysis::BandPoint, lower),
               FIELD(analysis::BandPoint, upper)};

template <>
inline constexpr auto kFields<analysis::Limit> =
    std::tuple{FIELD(analysis::Limit, metric),      FIELD(analysis::Limit, lower),
               FIELD(analysis::Limit, upper),       FIELD(analysis::Limit, guard),
               FIELD(analysis::Limit, pass_factor), FIELD(analysis::Limit, fail_factor),
               FIELD(analysis::Limit, severity),    FIELD(analysis::Limit, slope),
               FIELD(analysis::Limit, intercept),   FIELD(analysis::Limit, points)};
template <>
inline constexpr std::size_t kFieldsAtFirst<analysis::Limit> = 7;

template <>
inline constexpr auto kFields<analysis::LimitClass> =
    std::tuple{FIELD(analysis::LimitClass, name), FIELD(analysis::LimitClass, limits)};

template <>
inline constexpr auto kFields<analysis::LimitSet> =
    std::tuple{FIELD(analysis::LimitSet, id), FIELD(analysis::LimitSet, version),
               FIELD(analysis::LimitSet, limits), FIELD(analysis::LimitSet, classes)};
template <>
inline constexpr std::size_t kFieldsAtFirst<analysis::LimitSet> = 3;

template <>
inline constexpr auto kFields<analysis::CauseReading> =
    std::tuple{FIELD(analysis::CauseReading, id), FIELD(analysis::CauseReading, healthy),
               FIELD(analysis::CauseReading, logarithmic)};

template <>
inline constexpr auto kFields<analysis::CauseLevel> =
    std::tuple{FIELD(analysis::CauseLevel, severity), FIELD(analysis::CauseLevel, sign),
               FIELD(analysis::CauseLevel, shift)};

template <>
inline constexpr auto kFields<analysis::Cause> =
    std::tuple{FIELD(analysis::Cause, id),       FIELD(analysis::Cause, name),
               FIELD(analysis::Cause, check),    FIELD(analysis::Cause, prior),
               FIELD(analysis::Cause, of_bench), FIELD(analysis::Cause, levels)};

template <>
inline constexpr auto kFields<analysis::CauseTable> =
    std::tuple{FIELD(analysis::CauseTable, id), FIELD(analysis::CauseTable, readings),
               FIELD(analysis::CauseTable, covariance), FIELD(analysis::CauseTable, causes)};

template <>
inline constexpr auto kFields<analysis::Context> =
    std::tuple{FIELD(analysis::Context, bench), FIELD(analysis::Context, model),
               FIELD(analysis::Context, limits), FIELD(analysis::Context, causes)};

template <>
inline constexpr auto kFields<analysis::StepMark> =
    std::tuple{FIELD(analysis::StepMark, id),
               FIELD(analysis::StepMark, kind),
               FIELD(analysis::StepMark, target_gauge_pa),
               FIELD(analysis::StepMark, receiver),
               FIELD(analysis::StepMark, start_us),
               FIELD(analysis::StepMark, end_us),
               FIELD(analysis::StepMark, ready_us),
               FIELD(analysis::StepMark, end),
               FIELD(analysis::StepMark, reason)};

template <>
inline constexpr auto kFields<analysis::Trip> =
    std::tuple{FIELD(analysis::Trip, limit_id),    FIELD(analysis::Trip, channel_id),
               FIELD(analysis::Trip, accuses),     FIELD(analysis::Trip, limit_si),
               FIELD(analysis::Trip, value_si),    FIELD(analysis::Trip, upper),
               FIELD(analysis::Trip, time_us),     FIELD(analysis::Trip, confirmed),
               FIELD(analysis::Trip, confirmed_by)};

// The marks of a trace: all of it but its channels, which become columns.
template <>
inline constexpr auto kFields<analysis::RawTrace> =
    std::tuple{FIELD(analysis::RawTrace, steps), FIELD(analysis::RawTrace, trip),
               FIELD(analysis::RawTrace, break_off), FIELD(analysis::RawTrace, break_off_detail)};

#undef FIELD

}  // namespace endgate::schema

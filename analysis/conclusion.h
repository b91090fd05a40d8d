// Which curve and which numbers follow from what was measured?
//
//   1 carry every hold to reference conditions, at its own gauge pressure
//   2 fit the one curve to the carried holds, with the back leak as a wide prior of L
//   3 speed and current as ratios to the nominal unit
//   4 metrics and 64 points of the drawn curve: q(r_ref, N_ref(p)), r_ref = (p + p_ref)/p_ref
//
// POINTS are holds and stretches of a pump-up.  WEIGHTS of the fit: random u of the point and
//   kFormRel of the flow for what the form of the curve cannot follow.  What volume, conductance and
//   inlet temperature of the receiver do differs from point to point with size and sign, unlike a
//   gain: each is a shared cause of the fit (analysis/curve.h).  So holds decide the level and the
//   pump-up the shape.  They only weigh; u itself comes from the causes.
//
// BESIDE the curve: a real unit's flow is not quite of the curve's form.  Of the residual of a hold
//   the share form^2/(random^2 + receiver^2 + form^2) is expected to be that (best linear unbiased
//   prediction, the form's misses at the holds taken as independent).  Flows follow the curve times
//   1 + that share, relative, with straight lines between the holds and the last ratio beyond.
//
// PRIOR of L: back leak over (r^2 - 1), by the laminar law, at least the nominal leak: at
//   standstill a check valve hides what leaks behind it, and adds what the running unit does not
//   lose.  So its u is its own size: it keeps L from absurd values and decides nothing that the
//   holds can tell.
//
// MOTOR metrics are those of analysis/motor_constants.h; at the reference state, with the magnets warm:
//   torque at 0 kPa = k I ,  motor efficiency = 2 pi k N / V: the share of the power at the terminals
//   that crosses the air gap.  Isothermal efficiency = p_ref q ln r / (V I): what an ideal compressor
//   that never warms its air would need, over what the terminals take.
//
// RIPPLE metrics are those of the one hold nearest to their pressure, within kBeside_pa; the speed
//   is carried to reference conditions and along the type's speed to that pressure, the ratios are
//   as they were in that hold.
//
// EXTRAPOLATION: a metric at a pressure is given from kBeside_pa below the lowest used hold to as
//   much above the highest, else it is missing.  Only dead_head is extrapolated, and says so.  A
//   current is given beside a point that shows it, or between two no further apart than
//   kCurrentSpan_pa.

#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/evaluation.h"
#include "analysis/knobs.h"
#include "analysis/measured.h"
#include "analysis/outcome.h"
#include "analysis/type_table.h"

namespace endgate::analysis {

inline constexpr double kFormRel = 0.003;
inline constexpr double kBeside_pa = 25000;
inline constexpr double kCurrentSpan_pa = 450e3;
inline constexpr std::size_t kDrawn = 64;
inline constexpr double kDrawnTo_pa = 800000;

enum class MetricKind : std::uint8_t {
  flow,
  current,
  speed,
  volumetric_efficiency,
  specific_energy,
  dead_head,
  back_leak,
  seal_leak,
  back_leak_service,
  seal_leak_service,
  machine_constant,
  winding_resistance,
  brush_drop,
  moment_of_inertia,
  torque,
  motor_efficiency,
  isothermal_efficiency,
  ripple_speed,
  ripple_lock,
  cylinder_imbalance,
  commutator_irregularity,
};

struct MetricRecipe {
  std::string_view id;
  MetricKind kind;
  double gauge_pa;
};
inline constexpr std::array<MetricRecipe, 25> kMetrics{{
    {"fad_0", MetricKind::flow, 0},
    {"fad_200", MetricKind::flow, 200e3},
    {"fad_400", MetricKind::flow, 400e3},
    {"fad_600", MetricKind::flow, 600e3},
    {"fad_800", MetricKind::flow, 800e3},
    {"current_600", MetricKind::current, 600e3},
    {"speed_600", MetricKind::speed, 600e3},
    {"volumetric_efficiency_400", MetricKind::volumetric_efficiency, 400e3},
    {"specific_energy_400", MetricKind::specific_energy, 400e3},
    {"dead_head", MetricKind::dead_head, 0},
    {"back_leak", MetricKind::back_leak, 0},
    {"seal_leak", MetricKind::seal_leak, 0},
    {"ripple_speed_400", MetricKind::ripple_speed, 400e3},
    {"ripple_lock_400", MetricKind::ripple_lock, 400e3},
    {"cylinder_imbalance_400", MetricKind::cylinder_imbalance, 400e3},
    {"commutator_irregularity_400", MetricKind::commutator_irregularity, 400e3},
    {"back_leak_service", MetricKind::back_leak_service, 0},
    {"seal_leak_service", MetricKind::seal_leak_service, 0},
    {"machine_constant", MetricKind::machine_constant, 0},
    {"winding_resistance", MetricKind::winding_resistance, 0},
    {"brush_drop", MetricKind::brush_drop, 0},
    {"moment_of_inertia", MetricKind::moment_of_inertia, 0},
    {"torque_0", MetricKind::torque, 0},
    {"motor_efficiency_600", MetricKind::motor_efficiency, 600e3},
    {"isothermal_efficiency_400", MetricKind::isothermal_efficiency, 400e3},
}};

// What is decided once about the holds, for every run.
struct Plan {
  std::vector<Sensitivities> sensitivities;      // per hold
  std::vector<double> weight_u_m3_s;             // per hold, > 0
  std::vector<std::vector<double>> shared_m3_s;  // per hold: the flow moved by each shared cause
  std::vector<double> form_share;                // per hold: of a residual, what is form (BESIDE)
  std::optional<TypeTable> type;
  std::string refusal;  // why there is no plan: nominal data, correction too far
  // Set where inputs are varied: the curve is the free one plus this (a, b, L), the step from free
  // to constrained at rest.  A leak that sticks to 0 would else seem to be known exactly.
  std::optional<std::array<double, 3>> from_free;
};
[[nodiscard]] Plan plan_of(const Survey& survey, const Measured& measured);

struct Answer {
  double value = 0;
  bool extrapolated = false;
};

struct Conclusion {
  std::optional<Curve> curve;
  std::optional<std::array<double, 3>> from_free;  // of the curve, see Plan
  std::string curve_refusal;
  std::array<Outcome<Answer>, kMetrics.size()> metrics;
  std::array<std::optional<Answer>, kDrawn> drawn;
};
[[nodiscard]] Conclusion conclude(const Survey& survey, const Plan& plan, const Measured& measured,
                                  const Knobs& knobs);

[[nodiscard]] double drawn_gauge_pa(std::size_t index);

}  // namespace endgate::analysis

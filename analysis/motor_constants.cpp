#include "analysis/motor_constants.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <string_view>

#include "analysis/accusation.h"
#include "analysis/least_squares.h"
#include "analysis/reference_conditions.h"
#include "analysis/refused.h"

namespace endgate::analysis {
namespace {

constexpr double kPerTurn_rad = 2 * std::numbers::pi;

// One hold as (1) sees it.
struct MotorLoad {
  double current_a = 0;
  double drop_v = 0;  // V - 2 pi k N
  double u_v = 0;
  double copper = 1;  // R over R_20
};

std::optional<Refusal> sick_for_motor(const Survey& survey) {
  for (const Role role :
       {Role::supply_voltage, Role::supply_current, Role::speed, Role::case_temperature})
    if (!survey.usable(role))
      return refused(RefusalKind::sick_channel, survey.sick[index_of(role)]);
  return std::nullopt;
}

// When the motor was commanded off: the last sample at which it was to run.
std::optional<double> off_s(const Survey& survey) {
  const auto& on = survey.gas.motor_on;
  const auto last = std::find(on.rbegin(), on.rend(), 1);
  if (last == on.rend() || last == on.rbegin()) return std::nullopt;
  return survey.gas.time_s[static_cast<std::size_t>(on.rend() - last) - 1];
}

constexpr std::array<std::string_view, 6> kMotorMetrics{"machine_constant", "winding_resistance",
                                                        "brush_drop",       "moment_of_inertia",
                                                        "torque_0",         "motor_efficiency_600"};

std::optional<RunDownQuestion> question_of(const Survey& survey, double of_lag) {
  const std::optional<std::size_t> last = hold_before_off(survey);
  if (!last) return std::nullopt;
  const Samples& voltage = survey.samples[index_of(Role::supply_voltage)];
  const double hold_v = survey.holds[*last].moments[index_of(Role::supply_voltage)].mean;
  return RunDownQuestion{*off_s(survey), hold_v, of_lag * voltage.facts->lag_s,
                         stated_noise(voltage)};
}

class MotorFit {
 public:
  MotorFit(const Survey& survey, const Measured& measured, const Knobs& knobs)
      : survey_(survey), measured_(measured), knobs_(knobs) {}

  [[nodiscard]] MotorConstants run(const HoldReading& last) const {
    const RunDown& down = *measured_.run_down;
    const double here = down.back_emf_v / (kPerTurn_rad * last.speed_rev_s);
    MotorConstants motor{0, 0, 0, refused(RefusalKind::missing_step, "not evaluated")};
    motor.magnets_per_k = survey_.context->model.thermal.speed_per_case_k * knobs_.speed_per_case;
    motor.machine_constant_v_s =
        here * (1 + motor.magnets_per_k * (last.state.case_temperature_k - kReferenceWinding_k));
    motor.moment_of_inertia_kg_m2 = here * here * std::abs(last.supply_current_a) / down.fall_v_s;
    motor.winding = winding(motor);
    return motor;
  }

 private:
  [[nodiscard]] std::vector<MotorLoad> loads(const MotorConstants& motor) const {
    std::vector<MotorLoad> loads;
    for (std::size_t i = 0; i < survey_.holds.size(); ++i) {
      const HoldWindow& hold = survey_.holds[i];
      if (!hold.window || hold.rising) continue;
      const HoldReading& reading = measured_.holds[i];
      const HoldNoise noise = noise_of(survey_, hold, reading);
      const PointState& state = reading.state;
      const double k = motor.constant_at(state.case_temperature_k);
      const double winding_k = state.case_temperature_k + state.winding_lead_k + knobs_.winding_k;
      const double ohm = survey_.context->model.nominal.winding_resistance_ohm;
      loads.push_back({std::abs(reading.supply_current_a),
                       state.supply_voltage_v - kPerTurn_rad * k * reading.speed_rev_s,
                       std::hypot(noise.voltage_v, kPerTurn_rad * k * noise.speed_rev_s,
                                  ohm * noise.current_a) +
                           1e-9,
                       1 + kCopperPer_k * (winding_k - kReferenceWinding_k)});
    }
    return loads;
  }

  [[nodiscard]] Outcome<WindingAndBrush> winding(const MotorConstants& motor) const {
    const std::vector<MotorLoad> all = loads(motor);
    const auto [least, most] = std::minmax_element(
        all.begin(), all.end(),
        [](const MotorLoad& a, const MotorLoad& b) { return a.current_a < b.current_a; });
    if (all.size() < 2 || most->current_a - least->current_a < kLeastSpread * most->current_a)
      return refused(RefusalKind::span_too_narrow,
                     "the loads of the holds differ too little to tell the winding from the "
                     "brushes");
    LinearSystem system(2);
    for (const MotorLoad& load : all)
      system.add(std::array{load.copper * load.current_a, 1.0}, {load.drop_v, load.u_v});
    const Outcome<LinearFit> fit = solve_least_squares(system);
    if (!fit) return fit.error();
    return WindingAndBrush{fit->parameters[0], fit->parameters[1]};
  }

  const Survey& survey_;
  const Measured& measured_;
  const Knobs& knobs_;
};

}  // namespace

std::optional<std::size_t> hold_before_off(const Survey& survey) {
  const std::optional<double> off = off_s(survey);
  if (!off) return std::nullopt;
  for (std::size_t i = survey.holds.size(); i-- > 0;) {
    const HoldWindow& hold = survey.holds[i];
    if (!hold.window || hold.rising) continue;
    const double end_s = seconds_from(survey.origin_us, hold.step->end_us);
    if (std::abs(end_s - *off) < 0.1) return i;
  }
  return std::nullopt;
}

bool asks_for_motor(const ModelFacts& model) {
  return std::ranges::any_of(model.metrics, [](const std::string& id) {
    return std::ranges::find(kMotorMetrics, id) != kMotorMetrics.end();
  });
}

Outcome<RunDown> find_run_down(const Survey& survey) {
  if (!asks_for_motor(survey.context->model))
    return refused(RefusalKind::missing_step, "the model asks for nothing of the motor");
  if (const auto refusal = sick_for_motor(survey)) return *refusal;
  const std::optional<RunDownQuestion> question = question_of(survey, 1);
  if (!question)
    return refused(RefusalKind::missing_step,
                   "the motor was not switched off at the end of a complete hold");
  return run_down_of(survey.samples[index_of(Role::supply_voltage)].column, *question);
}

Outcome<RunDown> measure_run_down(const Survey& survey, const Knobs& knobs) {
  if (!survey.run_down) return survey.run_down;
  Outcome<RunDown> down = survey.run_down;
  if (knobs.voltage_lag != 1)
    down = run_down_of(survey.samples[index_of(Role::supply_voltage)].column,
                       *question_of(survey, knobs.voltage_lag));
  if (!down) return down;
  down->back_emf_v =
      knobs.reading(Role::supply_voltage, down->back_emf_v) - knobs.opened_s * down->fall_v_s;
  down->fall_v_s *= knobs.gain[index_of(Role::supply_voltage)];
  return down;
}

RunDownNoise noise_of_run_down(const Survey& survey) {
  if (!survey.run_down) return {};
  const Column& voltage = survey.samples[index_of(Role::supply_voltage)].column;
  const Outcome<RunDownNoise> noise = run_down_noise(voltage, *question_of(survey, 1));
  return noise ? *noise : RunDownNoise{};
}

Outcome<MotorConstants> motor_constants(const Survey& survey, const Measured& measured,
                                        const Knobs& knobs) {
  if (!measured.run_down) return measured.run_down.error();
  const std::optional<std::size_t> last = hold_before_off(survey);
  if (!last || !(measured.holds[*last].speed_rev_s > 0))
    return refused(RefusalKind::missing_step, "no hold ended in the run-down");
  return MotorFit(survey, measured, knobs).run(measured.holds[*last]);
}

}  // namespace endgate::analysis

#include "analysis/leak_test.h"

#include <algorithm>
#include <cmath>

namespace endgate::analysis {
namespace {

double level(const LeakWindow& leak, const Knobs& knobs, Role role) {
  return knobs.reading(role, leak.moments[index_of(role)].mean);
}

std::vector<DecayBlock> turned(std::vector<DecayBlock> blocks, const Knobs& knobs, Role role) {
  for (DecayBlock& block : blocks) block.pressure_pa = knobs.reading(role, block.pressure_pa);
  return blocks;
}

// Pressure by which the gas is too warm when the valve shuts, and how well that is known.
struct WarmStart {
  double pressure_pa = 0;
  double u_pa = 0;
};

WarmStart warm_start(double pressure_abs_pa, double gas_k, double wall_k) {
  const double warmer = gas_k - wall_k;
  const double per_k = pressure_abs_pa / gas_k;
  return {per_k * warmer, per_k * std::hypot(kStart_u_k, kStart_u_rel * warmer)};
}

double gas_temperature_at(const Survey& survey, const GasHistory& history, double time_s,
                          double substitute) {
  const auto& time = survey.gas.time_s;
  const auto after = std::lower_bound(time.begin(), time.end(), time_s);
  if (after == time.end()) return substitute;
  return std::max(100.0, history.temperature_k[static_cast<std::size_t>(after - time.begin())]);
}

// Volume flow at the reference inlet state from a loss of pressure.
double flow_of(const ReferenceConditions& reference, double volume_m3, double loss_pa_s,
               double gas_k) {
  return volume_m3 * loss_pa_s / reference.inlet_pressure_abs_pa * reference.inlet_temperature_k /
         gas_k;
}

Refusal sick(const Survey& survey, Role role) {
  return {RefusalKind::sick_channel, survey.sick[index_of(role)], {}};
}

std::optional<Refusal> first_sick(const Survey& survey, std::initializer_list<Role> roles) {
  for (const Role role : roles)
    if (!survey.usable(role)) return sick(survey, role);
  return std::nullopt;
}

DecayModel back_leak_model(const Survey& survey, const GasHistory& history, const Knobs& knobs,
                           const LeakWindow& leak, const Receiver& receiver) {
  const double wall = level(leak, knobs, Role::ambient_temperature);
  const double gas = gas_temperature_at(survey, history, leak.window.start_s, wall);
  DecayModel model;
  model.outside_abs_pa = level(leak, knobs, Role::barometric_pressure);
  const double first = leak.blocks.empty() ? 0
                                           : knobs.reading(Role::discharge_pressure,
                                                           leak.blocks.front().pressure_pa);
  const double pressure = model.outside_abs_pa + first;
  const WarmStart start = warm_start(pressure, gas, wall);
  model.cooling_s = cooling_time_s(receiver, pressure, gas);
  model.u_warm_start_pa = start.u_pa;
  model.warm_start_pa = start.pressure_pa + knobs.leak_start * start.u_pa;
  return model;
}

LeakReading reading_of(const Decay& decay, const DecayModel& model) {
  LeakReading reading;
  reading.mean_abs_pa = decay.mean_abs_pa;
  reading.outside_abs_pa = model.outside_abs_pa;
  return reading;
}

}  // namespace

Outcome<LeakReading> measure_back_leak(const Survey& survey, const GasHistory& history,
                                       const Knobs& knobs) {
  if (!survey.back_leak) return survey.back_leak.error();
  if (const auto refusal =
          first_sick(survey, {Role::barometric_pressure, Role::ambient_temperature}))
    return *refusal;
  const LeakWindow& leak = *survey.back_leak;
  const GasSettings settings = gas_settings(survey, knobs);
  if (leak.receiver >= settings.receivers.size())
    return Refusal{RefusalKind::missing_step, "the step names no receiver of the bench", {}};
  const Receiver& receiver = settings.receivers[leak.receiver];
  const DecayModel model = back_leak_model(survey, history, knobs, leak, receiver);
  const Outcome<Decay> decay =
      fit_decay(turned(leak.blocks, knobs, Role::discharge_pressure), model);
  if (!decay) return decay.error();
  const ReferenceConditions& reference = survey.context->model.reference;
  const double wall = level(leak, knobs, Role::ambient_temperature);
  LeakReading reading = reading_of(*decay, model);
  reading.leak_m3_s = flow_of(reference, receiver.volume_m3, decay->loss_pa_s, wall) -
                      survey.context->bench.fixture_back_leak_m3_s - knobs.fixture_back_leak_m3_s;
  reading.u_random_m3_s = flow_of(reference, receiver.volume_m3, decay->u_random_pa_s, wall);
  return reading;
}

Outcome<LeakReading> measure_seal_leak(const Survey& survey, const Knobs& knobs) {
  if (!survey.seal_leak) return survey.seal_leak.error();
  if (const auto refusal = first_sick(
          survey, {Role::barometric_pressure, Role::ambient_temperature, Role::case_temperature}))
    return *refusal;
  const LeakWindow& leak = *survey.seal_leak;
  const BenchFacts& bench = survey.context->bench;
  DecayModel model;
  model.outside_abs_pa = level(leak, knobs, Role::barometric_pressure);
  const Outcome<Decay> decay = fit_decay(turned(leak.blocks, knobs, Role::seal_pressure), model);
  if (!decay) return decay.error();
  const ReferenceConditions& reference = survey.context->model.reference;
  const double gas = level(leak, knobs, Role::case_temperature);
  const Moments& body = leak.moments[index_of(Role::case_temperature)];
  const double per_k = (kCaseShare + knobs.case_share) * decay->mean_abs_pa / gas;
  const double loss =
      decay->loss_pa_s + per_k * knobs.gain[index_of(Role::case_temperature)] * body.slope_s;
  const double volume = bench.seal_volume_m3 * knobs.seal_volume;
  LeakReading reading = reading_of(*decay, model);
  reading.leak_m3_s = flow_of(reference, volume, loss, gas) - bench.fixture_seal_leak_m3_s -
                      knobs.fixture_seal_leak_m3_s;
  reading.u_random_m3_s =
      flow_of(reference, volume, std::hypot(decay->u_random_pa_s, per_k * body.u_slope_s), gas);
  return reading;
}

}  // namespace endgate::analysis

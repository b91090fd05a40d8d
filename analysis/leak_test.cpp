#include "analysis/leak_test.h"

#include <algorithm>
#include <cmath>

#include "analysis/moist_air.h"

namespace endgate::analysis {
namespace {

double level(const LeakWindow& leak, const Knobs& knobs, Role role) {
  return knobs.reading(role, leak.moments[index_of(role)].mean);
}

std::vector<DecayBlock> turned(std::vector<DecayBlock> blocks, const Knobs& knobs, Role role) {
  for (DecayBlock& block : blocks) block.pressure_pa = knobs.reading(role, block.pressure_pa);
  return blocks;
}

// The value of a history at a time, or a substitute where it ends before.
double history_at(const Survey& survey, const std::vector<double>& history, double time_s,
                  double substitute) {
  const auto& time = survey.gas.time_s;
  const auto after = std::lower_bound(time.begin(), time.end(), time_s);
  if (after == time.end()) return substitute;
  return std::max(100.0, history[static_cast<std::size_t>(after - time.begin())]);
}

std::optional<Refusal> first_sick(const Survey& survey, std::initializer_list<Role> roles) {
  for (const Role role : roles)
    if (!survey.usable(role))
      return Refusal{RefusalKind::sick_channel, survey.sick[index_of(role)], {}};
  return std::nullopt;
}

// (1) without the fixture: what turns a loss of pressure into a flow.
class LossToFlow {
 public:
  LossToFlow(const ReferenceConditions& reference, const StepMark& step, double volume_m3,
             double gas_k, const Decay& decay, double outside_abs_pa) {
    const double at_reference =
        laminar_driving_pa2(step.target_gauge_pa, reference.inlet_pressure_abs_pa);
    const double in_dwell = laminar_driving_pa2(decay.mean_abs_pa - outside_abs_pa, outside_abs_pa);
    const double carried = step.target_gauge_pa > 0 ? at_reference / in_dwell : 1;
    factor_ = volume_m3 / reference.inlet_pressure_abs_pa * reference.inlet_temperature_k / gas_k *
              carried;
  }
  [[nodiscard]] double operator()(double loss_pa_s) const { return factor_ * loss_pa_s; }

 private:
  double factor_ = 0;
};

DecayModel back_leak_model(const Survey& survey, const GasHistory& history, const Knobs& knobs,
                           const LeakWindow& leak) {
  const double room = level(leak, knobs, Role::ambient_temperature);
  const double wall = history_at(survey, history.wall_k, leak.window.start_s, room);
  const double gas = history_at(survey, history.temperature_k, leak.window.start_s, room);
  DecayModel model;
  model.outside_abs_pa = level(leak, knobs, Role::barometric_pressure);
  const double first = leak.blocks.empty() ? 0 : leak.blocks.front().pressure_pa;
  const double per_k =
      (model.outside_abs_pa + knobs.reading(Role::discharge_pressure, first)) / gas;
  model.u_warm_start_pa = std::abs(per_k) * std::hypot(kStart_u_k, kStart_u_rel * (gas - wall));
  model.warm_start_pa = per_k * (gas - wall) + knobs.leak_start * model.u_warm_start_pa;
  model.cooling_s = leak.cooling.tau_s * (1 + knobs.back_leak_cooling * leak.cooling.u_rel);
  if (leak.receiver < survey.context->bench.receivers.size())
    model.conductance_exponent =
        survey.context->bench.receivers[leak.receiver].conductance_exponent;
  return model;
}

DecayModel seal_leak_model(const Knobs& knobs, const LeakWindow& leak) {
  DecayModel model;
  model.outside_abs_pa = level(leak, knobs, Role::barometric_pressure);
  const double first = leak.blocks.empty() ? 0 : leak.blocks.front().pressure_pa;
  const double gas = std::max(100.0, level(leak, knobs, Role::case_temperature));
  model.u_warm_start_pa = (model.outside_abs_pa + std::max(0.0, first)) / gas * kHousingStart_u_k;
  model.cooling_s = leak.cooling.tau_s * (1 + knobs.seal_leak_cooling * leak.cooling.u_rel);
  return model;
}

double wall_drift_k_s(const Survey& survey, const GasHistory& history, const Window& window) {
  const double first = history_at(survey, history.wall_k, window.start_s, 0);
  const double last = history_at(survey, history.wall_k, window.end_s - 0.1, 0);
  return first > 0 && last > 0 ? (last - first) / window.length_s() : 0;
}

// Vapour pressure above the water when the let-down is over: thinned by it, or what the cold gas
// can hold.
double vapour_after_let_down_pa(const Survey& survey, const GasHistory& history,
                                const LeakWindow& leak, double wall_k, double outside_abs_pa) {
  const double before_s = seconds_from(survey.origin_us, leak.step->start_us);
  const double before = outside_abs_pa + history_at(survey, survey.gas.gauge_pa, before_s, 0);
  const double after =
      outside_abs_pa + history_at(survey, survey.gas.gauge_pa, leak.window.start_s, 0);
  const double gas = history_at(survey, history.temperature_k, leak.window.start_s, wall_k);
  const double thinned = saturation_pressure_pa(wall_k) * std::min(1.0, after / before);
  return std::min(thinned, saturation_pressure_pa(gas));
}

// Vapour pressure that the air lacks when the dwell begins; 0 above a dry receiver.
double vapour_lack_pa(const Survey& survey, const GasHistory& history, const LeakWindow& leak,
                      double wall_k, double outside_abs_pa) {
  if (!survey.usable(Role::relative_humidity)) return 0;
  const AirState inlet{outside_abs_pa, wall_k,
                       leak.moments[index_of(Role::relative_humidity)].mean};
  const double top = outside_abs_pa + leak.step->target_gauge_pa;
  if (humidity_ratio(inlet) <= saturated_humidity_ratio(top, wall_k)) return 0;
  return saturation_pressure_pa(wall_k) -
         vapour_after_let_down_pa(survey, history, leak, wall_k, outside_abs_pa);
}

// The dwell as the knobs turn it, without what evaporated meanwhile.
std::vector<DecayBlock> dry_blocks(const Survey& survey, const GasHistory& history,
                                   const Knobs& knobs, const LeakWindow& leak) {
  std::vector<DecayBlock> blocks = turned(leak.blocks, knobs, Role::discharge_pressure);
  const double lack =
      vapour_lack_pa(survey, history, leak, level(leak, knobs, Role::ambient_temperature),
                     level(leak, knobs, Role::barometric_pressure)) *
      (1 + knobs.evaporation * kEvaporation_u_rel);
  for (DecayBlock& block : blocks)
    block.pressure_pa -= lack * -std::expm1(-block.time_s / kEvaporation_s);
  return blocks;
}

LeakReading reading_of(const Decay& decay, const DecayModel& model) {
  LeakReading reading;
  reading.mean_abs_pa = decay.mean_abs_pa;
  reading.outside_abs_pa = model.outside_abs_pa;
  return reading;
}

void find_back_leak_cooling(Survey& survey, const Knobs& at_rest) {
  LeakWindow& leak = *survey.back_leak;
  if (leak.receiver >= survey.context->bench.receivers.size() || leak.blocks.empty()) return;
  const Receiver& receiver = survey.context->bench.receivers[leak.receiver];
  DecayModel model = back_leak_model(survey, survey.history, at_rest, leak);
  const double pressure = model.outside_abs_pa + leak.blocks.back().pressure_pa;
  model.cooling_s =
      cooling_time_s(receiver, pressure, level(leak, at_rest, Role::ambient_temperature));
  const double u_ln = std::hypot(receiver.u_conductance_rel, receiver.u_volume_rel, 0.05);
  leak.cooling = {model.cooling_s, u_ln};
  const auto found =
      find_cooling_time(dry_blocks(survey, survey.history, at_rest, leak), model, u_ln);
  if (found) leak.cooling = *found;
}

void find_seal_leak_cooling(Survey& survey, const Knobs& at_rest) {
  LeakWindow& leak = *survey.seal_leak;
  leak.cooling = {kHousingCooling_s, kHousingCooling_u_ln};
  const DecayModel model = seal_leak_model(at_rest, leak);
  if (const auto found = find_cooling_time(leak.blocks, model, kHousingCooling_u_ln))
    leak.cooling = *found;
}

}  // namespace

void find_cooling_times(Survey& survey) {
  const Knobs at_rest(survey.context->bench.receivers.size());
  if (survey.back_leak) find_back_leak_cooling(survey, at_rest);
  if (survey.seal_leak) find_seal_leak_cooling(survey, at_rest);
}

Outcome<LeakReading> measure_back_leak(const Survey& survey, const GasHistory& history,
                                       const Knobs& knobs) {
  if (!survey.back_leak) return survey.back_leak.error();
  if (const auto refusal =
          first_sick(survey, {Role::barometric_pressure, Role::ambient_temperature}))
    return *refusal;
  const LeakWindow& leak = *survey.back_leak;
  const BenchFacts& bench = survey.context->bench;
  if (leak.receiver >= bench.receivers.size())
    return Refusal{RefusalKind::missing_step, "the step names no receiver of the bench", {}};
  const Receiver& receiver = bench.receivers[leak.receiver];
  const DecayModel model = back_leak_model(survey, history, knobs, leak);
  const Outcome<Decay> decay = fit_decay(dry_blocks(survey, history, knobs, leak), model);
  if (!decay) return decay.error();
  const double wall = level(leak, knobs, Role::ambient_temperature);
  const double drift = wall_drift_k_s(survey, history, leak.window);
  const double loss = decay->loss_pa_s + decay->mean_abs_pa / wall * (drift + knobs.wall_drift_k_s);
  const LossToFlow flow_of(survey.context->model.reference, *leak.step,
                           receiver.volume_m3 * knobs.volume[leak.receiver], wall, *decay,
                           model.outside_abs_pa);
  LeakReading reading = reading_of(*decay, model);
  reading.leak_m3_s = flow_of(loss) - bench.fixture_back_leak_m3_s - knobs.fixture_back_leak_m3_s;
  reading.u_random_m3_s = flow_of(decay->u_random_pa_s);
  reading.u_wall_drift_k_s =
      receiver.wall_j_k > 0 ? kWallDrift_u_rel * std::abs(drift) : kWallDrift_u_k_s;
  return reading;
}

Outcome<LeakReading> measure_seal_leak(const Survey& survey, const Knobs& knobs) {
  if (!survey.seal_leak) return survey.seal_leak.error();
  if (const auto refusal = first_sick(
          survey, {Role::barometric_pressure, Role::ambient_temperature, Role::case_temperature}))
    return *refusal;
  const LeakWindow& leak = *survey.seal_leak;
  const BenchFacts& bench = survey.context->bench;
  const DecayModel model = seal_leak_model(knobs, leak);
  const Outcome<Decay> decay = fit_decay(turned(leak.blocks, knobs, Role::seal_pressure), model);
  if (!decay) return decay.error();
  const double gas = std::max(100.0, level(leak, knobs, Role::case_temperature));
  const Moments& body = leak.moments[index_of(Role::case_temperature)];
  const double per_k = (kCaseShare + knobs.case_share) * decay->mean_abs_pa / gas;
  const double drift = knobs.gain[index_of(Role::case_temperature)] * body.slope_s;
  const LossToFlow flow_of(survey.context->model.reference, *leak.step,
                           bench.seal_volume_m3 * knobs.seal_volume, gas, *decay,
                           model.outside_abs_pa);
  LeakReading reading = reading_of(*decay, model);
  reading.leak_m3_s = flow_of(decay->loss_pa_s + per_k * drift) - bench.fixture_seal_leak_m3_s -
                      knobs.fixture_seal_leak_m3_s;
  reading.u_random_m3_s = flow_of(std::hypot(decay->u_random_pa_s, per_k * body.u_slope_s));
  return reading;
}

}  // namespace endgate::analysis

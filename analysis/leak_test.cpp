#include "analysis/leak_test.h"

#include <algorithm>
#include <cmath>

#include "analysis/leak_law.h"
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

std::optional<Refusal> first_sick(const Survey& survey, std::initializer_list<Role> roles) {
  for (const Role role : roles)
    if (!survey.usable(role))
      return Refusal{RefusalKind::sick_channel, survey.sick[index_of(role)], {}};
  return std::nullopt;
}

// (1) without the fixture: what turns a loss of pressure into a flow.
class LossToFlow {
 public:
  LossToFlow(const ReferenceConditions& reference, double volume_m3, double gas_k, double carried)
      : factor_(volume_m3 / reference.inlet_pressure_abs_pa * reference.inlet_temperature_k /
                gas_k * carried) {}
  [[nodiscard]] double operator()(double loss_pa_s) const { return factor_ * loss_pa_s; }

 private:
  double factor_ = 0;
};

// The dwell as the knobs turn it, less what a tight receiver would have done.
std::vector<DecayBlock> leaking_blocks(const LeakWindow& leak, const Knobs& knobs,
                                       const ShutReceiver& start) {
  std::vector<DecayBlock> blocks = turned(leak.blocks, knobs, Role::discharge_pressure);
  std::vector<double> time_s;
  for (const DecayBlock& block : blocks) time_s.push_back(block.time_s);
  const std::vector<double> tight = shut_pressure_abs_pa(start, time_s);
  for (std::size_t i = 0; i < blocks.size(); ++i)
    blocks[i].pressure_pa -= tight[i] - start.pressure_abs_pa;
  return blocks;
}

DecayModel back_leak_model(const Survey& survey, const Knobs& knobs, const LeakWindow& leak,
                           const ShutReceiver& start) {
  DecayModel model;
  model.outside_abs_pa = level(leak, knobs, Role::barometric_pressure);
  model.u_warm_start_pa = start.pressure_abs_pa / std::max(100.0, start.content.wall_k) *
                          std::max(1e-3, survey.context->model.thermal.u_leak_start_k);
  model.cooling_s = cooling_time_s(start.receiver, start.pressure_abs_pa, start.content.wall_k);
  model.conductance_exponent = start.receiver.conductance_exponent;
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

LeakReading reading_of(const Decay& decay, const DecayModel& model) {
  LeakReading reading;
  reading.mean_abs_pa = decay.mean_abs_pa;
  reading.outside_abs_pa = model.outside_abs_pa;
  return reading;
}

double leak_scaled(const LeakPressures& from, const LeakPressures& to, double law) {
  const Outcome<LeakScale> scale = leak_scale(from, to);
  return scale ? scale->factor + law * scale->u : 1;
}

// From the dwell to the target of its step; without a target it stays where it was.
double to_target(const LeakReading& reading, const StepMark& step, double reference_abs_pa,
                 double law) {
  return leak_scaled({reading.mean_abs_pa, reading.outside_abs_pa},
                     over(reference_abs_pa, step.target_gauge_pa), law);
}

// 0 where the model names no service pressure, or the step no target to start from.
double to_service(double service_gauge_pa, const StepMark& step, double reference_abs_pa,
                  double law) {
  if (!(service_gauge_pa > 0) || !(step.target_gauge_pa > 0)) return 0;
  return leak_scaled(over(reference_abs_pa, step.target_gauge_pa),
                     over(reference_abs_pa, service_gauge_pa), law);
}

void find_seal_cooling(Survey& survey, const Knobs& at_rest) {
  LeakWindow& leak = *survey.seal_leak;
  leak.cooling = {kHousingCooling_s, kHousingCooling_u_ln};
  const DecayModel model = seal_leak_model(at_rest, leak);
  if (const auto found = find_cooling_time(leak.blocks, model, kHousingCooling_u_ln))
    leak.cooling = *found;
}

}  // namespace

double not_watched_s(StepKind kind, double case_lag_s, double rested_s) {
  const double following_s =
      kind == StepKind::seal_leak ? case_lag_s + kHousingCooling_s - rested_s : 0;
  return std::max(kRunDown_s, following_s);
}

ShutReceiver shut_receiver(const Survey& survey, const GasSettings& settings,
                           const GasHistory& history, const DwellStart& dwell) {
  const auto& time = survey.gas.time_s;
  const auto first = std::lower_bound(time.begin(), time.end(), dwell.leak.window.start_s);
  const auto i = std::min(time.size() - 1, static_cast<std::size_t>(first - time.begin()));
  ShutReceiver start{settings.receivers[dwell.leak.receiver], history.content[i],
                     settings.inlet_pressure_abs_pa + settings.gauge(survey.gas.gauge_pa[i]),
                     settings.ambient(survey.gas.ambient_k[i])};
  const double thinner = history.temperature_k[i] / (history.temperature_k[i] + dwell.warmer_k);
  start.content.dry_kg *= thinner;
  start.content.vapour_kg *= thinner;
  return start;
}

void find_seal_cooling_time(Survey& survey) {
  const Knobs at_rest(survey.context->bench.receivers.size());
  if (survey.seal_leak) find_seal_cooling(survey, at_rest);
}

Outcome<LeakReading> measure_back_leak(const Survey& survey, const GasHistory& history,
                                       const Knobs& knobs) {
  if (!survey.back_leak) return survey.back_leak.error();
  if (const auto refusal =
          first_sick(survey, {Role::barometric_pressure, Role::ambient_temperature, Role::flow,
                              Role::head_temperature, Role::relative_humidity}))
    return *refusal;
  const LeakWindow& leak = *survey.back_leak;
  const BenchFacts& bench = survey.context->bench;
  if (leak.receiver >= bench.receivers.size())
    return Refusal{RefusalKind::missing_step, "the step names no receiver of the bench", {}};
  const double warmer = survey.context->model.thermal.leak_start_k + knobs.leak_start_k;
  const ShutReceiver start =
      shut_receiver(survey, gas_settings(survey, knobs), history, {leak, warmer});
  const DecayModel model = back_leak_model(survey, knobs, leak, start);
  const Outcome<Decay> decay = fit_decay(leaking_blocks(leak, knobs, start), model);
  if (!decay) return decay.error();
  const ModelFacts& facts = survey.context->model;
  const double reference = facts.reference.inlet_pressure_abs_pa;
  LeakReading reading = reading_of(*decay, model);
  const LossToFlow flow_of(facts.reference, start.receiver.volume_m3, start.content.wall_k,
                           to_target(reading, *leak.step, reference, knobs.back_leak_law));
  reading.to_service =
      to_service(facts.service.back_leak_gauge_pa, *leak.step, reference, knobs.back_leak_law);
  reading.leak_m3_s =
      flow_of(decay->loss_pa_s) - bench.fixture_back_leak_m3_s - knobs.fixture_back_leak_m3_s;
  reading.u_random_m3_s = flow_of(decay->u_random_pa_s);
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
  const double share = survey.context->model.thermal.seal_case_share + knobs.case_share;
  const double per_k = share * decay->mean_abs_pa / gas;
  const double drift = knobs.gain[index_of(Role::case_temperature)] * body.slope_s;
  const ModelFacts& facts = survey.context->model;
  const double reference = facts.reference.inlet_pressure_abs_pa;
  LeakReading reading = reading_of(*decay, model);
  const LossToFlow flow_of(facts.reference, bench.seal_volume_m3 * knobs.seal_volume, gas,
                           to_target(reading, *leak.step, reference, knobs.seal_leak_law));
  reading.to_service =
      to_service(facts.service.seal_leak_gauge_pa, *leak.step, reference, knobs.seal_leak_law);
  reading.leak_m3_s = flow_of(decay->loss_pa_s + per_k * drift) - bench.fixture_seal_leak_m3_s -
                      knobs.fixture_seal_leak_m3_s;
  reading.u_random_m3_s = flow_of(std::hypot(decay->u_random_pa_s, per_k * body.u_slope_s));
  return reading;
}

}  // namespace endgate::analysis

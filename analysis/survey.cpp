#include "analysis/survey.h"

#include <algorithm>
#include <cmath>

#include "analysis/leak_test.h"
#include "analysis/motor_constants.h"
#include "analysis/motor_runs.h"
#include "analysis/ramp_windows.h"
#include "analysis/steady_window.h"
#include "analysis/sum.h"
#include "analysis/winding_lead.h"

namespace endgate::analysis {
namespace {

constexpr double kRoomTemperature_k = 293.15;  // only where no result rests on it

const char* word_of(HealthState state) {
  switch (state) {
    case HealthState::good:
      return "good";
    case HealthState::missing:
      return "missing";
    case HealthState::silent:
      return "silent";
    case HealthState::no_value:
      return "without value";
    case HealthState::out_of_range:
      return "out of range";
    case HealthState::stuck:
      return "stuck";
    case HealthState::too_fast:
      return "implausibly fast";
    case HealthState::time_sick:
      return "out of time";
    case HealthState::spiky:
      return "full of odd samples";
    case HealthState::noisy:
      return "too noisy";
    case HealthState::zero_shift:
      return "off its zero";
    case HealthState::jumped:
      return "at another level from one moment to the next";
    case HealthState::implausible:
      return "implausible";
  }
  return "sick";
}

std::string sickness(Role role, const Samples& samples, std::span<const ChannelHealth> health) {
  if (samples.facts == nullptr)
    return "the bench has no channel of the role " + std::string(name_of(role));
  for (const ChannelHealth& one : health)
    if (one.channel_id == samples.facts->id && one.state != HealthState::good)
      return "channel " + one.channel_id + " was " + word_of(one.state) + ": " + one.detail;
  if (samples.column.time_s.empty()) return "channel " + samples.facts->id + " has no good sample";
  return "";
}

SampleNoise noise_of(const Samples& samples) {
  return {samples.facts->noise_sigma_si, samples.facts->noise_correlation_s, samples.resolution_si};
}

// One column on the time stamps of another: a cursor over straight lines.
std::vector<double> on_times(const Column& column, const std::vector<double>& time_s,
                             double substitute) {
  std::vector<double> values(time_s.size(), substitute);
  if (column.time_s.empty()) return values;
  std::size_t next = 0;
  for (std::size_t i = 0; i < time_s.size(); ++i) {
    while (next < column.time_s.size() && column.time_s[next] < time_s[i]) ++next;
    if (next == 0 || next == column.time_s.size()) {
      values[i] = next == 0 ? column.value.front() : column.value.back();
      continue;
    }
    const double gap = column.time_s[next] - column.time_s[next - 1];
    const double share = gap > 0 ? (time_s[i] - column.time_s[next - 1]) / gap : 1;
    values[i] = column.value[next - 1] + share * (column.value[next] - column.value[next - 1]);
  }
  return values;
}

class Surveyor {
 public:
  Surveyor(const RawTrace& trace, const Context& context, std::span<const ChannelHealth> health)
      : trace_(trace), context_(context), health_(health) {}

  Survey run() {
    survey_.context = &context_;
    survey_.origin_us = origin_us(trace_);
    survey_.samples = calibrate(trace_, context_.bench);
    for (const RoleFacts& facts : kRoles) {
      const std::size_t i = index_of(facts.role);
      survey_.sick[i] = sickness(facts.role, survey_.samples[i], health_);
    }
    read_gas();
    follow_gas(survey_, Knobs(context_.bench.receivers.size()), survey_.history);
    for (const StepMark& step : trace_.steps) {
      if (step.kind == StepKind::hold) survey_.holds.push_back(hold_window(step));
      if (rises(step.kind)) add_ramp(step);
    }
    survey_.back_leak = leak_window(StepKind::back_leak, Role::discharge_pressure);
    survey_.seal_leak = leak_window(StepKind::seal_leak, Role::seal_pressure);
    listen_to_ripple();
    find_seal_cooling_time(survey_);
    survey_.run_down = find_run_down(survey_);
    return std::move(survey_);
  }

 private:
  [[nodiscard]] const Samples& samples(Role role) const { return survey_.samples[index_of(role)]; }

  [[nodiscard]] Column usable_column(Role role) const {
    return survey_.usable(role) ? samples(role).column : Column{};
  }

  [[nodiscard]] double level(Role role, double substitute) const {
    return mean_of(usable_column(role).value).value_or(substitute);
  }

  [[nodiscard]] std::uint8_t receiver_index(const std::string& name) const {
    const auto& receivers = context_.bench.receivers;
    const auto found = std::find_if(receivers.begin(), receivers.end(),
                                    [&](const Receiver& one) { return one.name == name; });
    const auto index = static_cast<std::size_t>(found - receivers.begin());
    return found == receivers.end() || index >= kNoReceiver ? kNoReceiver
                                                            : static_cast<std::uint8_t>(index);
  }

  void read_gas() {
    GasReadings& gas = survey_.gas;
    const Column pressure = usable_column(Role::discharge_pressure);
    gas.time_s = pressure.time_s;
    gas.gauge_pa = pressure.value;
    gas.metered_kg_s = on_times(usable_column(Role::flow), gas.time_s, 0);
    const double density = meter_density_kg_m3(context_.bench);
    for (double& flow : gas.metered_kg_s) flow *= density;
    const double room = level(Role::ambient_temperature, kRoomTemperature_k);
    gas.ambient_k = on_times(usable_column(Role::ambient_temperature), gas.time_s, room);
    gas.head_k = on_times(usable_column(Role::head_temperature), gas.time_s, room);
    mark_steps();
    read_compression(level(Role::barometric_pressure, 100000));
    survey_.inlet = {level(Role::barometric_pressure, 100000), room,
                     level(Role::relative_humidity, 0)};
  }

  // By what compression warms the gas, cheaper once than in every run of the balance.
  void read_compression(double inlet_pa) {
    GasReadings& gas = survey_.gas;
    const double exponent = context_.model.nominal.polytropic_exponent;
    gas.compression_rise_k.resize(gas.time_s.size());
    for (std::size_t i = 0; i < gas.time_s.size(); ++i)
      gas.compression_rise_k[i] =
          compression_rise_k(gas.ambient_k[i], 1 + gas.gauge_pa[i] / inlet_pa, exponent);
  }

  // Which receiver is in use and whether the motor runs, at every time stamp.
  void mark_steps() {
    GasReadings& gas = survey_.gas;
    gas.motor_on.assign(gas.time_s.size(), 0);
    gas.outlet_shut.assign(gas.time_s.size(), 0);
    gas.receiver.assign(gas.time_s.size(), kNoReceiver);
    std::uint8_t last = kNoReceiver;  // a step that names none leaves the valves as they were
    for (const StepMark& step : trace_.steps) {
      const std::uint8_t named = receiver_index(step.receiver);
      if (named != kNoReceiver) last = named;
      const IndexRange range = inside(gas.time_s, span_of(step));
      const bool beside = step.kind == StepKind::seal_leak;  // the others say what the motor does
      for (std::size_t i = range.first; i < range.last; ++i) {
        if (beside && gas.receiver[i] != kNoReceiver) continue;
        gas.motor_on[i] = motor_runs(step.kind) ? 1 : 0;
        gas.outlet_shut[i] = step.kind == StepKind::pump_up ? 1 : 0;
        gas.receiver[i] = last;
      }
    }
  }

  [[nodiscard]] Window span_of(const StepMark& step) const {
    return {seconds_from(survey_.origin_us, step.start_us),
            seconds_from(survey_.origin_us, step.end_us)};
  }

  [[nodiscard]] MomentsByRole moments_by_role(const Window& window) const {
    MomentsByRole all{};
    for (const RoleFacts& facts : kRoles) {
      if (!survey_.usable(facts.role)) continue;
      const Samples& one = samples(facts.role);
      all[index_of(facts.role)] =
          moments_in(one.column, window, noise_of(one), one.facts->lag_s).value_or(Moments{});
    }
    return all;
  }

  [[nodiscard]] HoldWindow hold_window(const StepMark& step) const {
    HoldWindow hold;
    hold.step = &step;
    hold.target_gauge_pa = step.target_gauge_pa;
    hold.receiver = receiver_index(step.receiver);
    if (step.end != StepEnd::complete) {
      hold.note = step.reason.empty() ? "the step was not completed" : step.reason;
      return hold;
    }
    const Outcome<Window> settled = settled_stretch(step, survey_.origin_us, context_.model.steady);
    if (!settled) {
      hold.note = settled.error().detail;
      return hold;
    }
    choose_window(*settled, hold);
    return hold;
  }

  void choose_window(const Window& settled, HoldWindow& hold) const {
    hold.window = settled;
    if (survey_.usable(Role::flow)) {
      const Outcome<SteadyStretch> stretch = steady_stretch_of(settled);
      hold.steady = stretch.has_value();
      if (stretch) {
        hold.window = stretch->window;
        hold.drift_rel = stretch->drift_rel;
      } else {
        hold.note = stretch.error().detail;
      }
    } else {
      hold.note = survey_.sick[index_of(Role::flow)];
    }
    hold.window = whole_turns(*hold.window, speed_in(*hold.window));
    hold.moments = moments_by_role(*hold.window);
    hold.winding_lead_k = winding_lead_k(survey_, context_.model.thermal, hold.window->middle_s());
    take_grid(hold);
  }

  // While everything moves, a reading is what was true its lag earlier, slope included.  The flow is
  // balanced sample by sample (read_gas) and keeps the window of that balance.
  [[nodiscard]] MomentsByRole rising_moments(const Window& window) const {
    MomentsByRole all{};
    for (const RoleFacts& facts : kRoles) {
      if (!survey_.usable(facts.role)) continue;
      const Samples& one = samples(facts.role);
      const double lag_s = one.facts->lag_s;
      const bool balanced = facts.role == Role::flow;
      const double shift_s = balanced ? 0 : lag_s;
      all[index_of(facts.role)] =
          moments_in(one.column, {window.start_s + shift_s, window.end_s + shift_s}, noise_of(one),
                     balanced ? lag_s : 0, Path::bent)
              .value_or(Moments{});
    }
    return all;
  }

  void add_ramp(const StepMark& step) {
    for (const RampStretch& stretch : ramp_stretches(survey_.gas, span_of(step))) {
      HoldWindow rise;
      rise.step = &step;
      rise.target_gauge_pa = stretch.middle_gauge_pa;
      rise.rising = true;
      rise.outlet_shut = step.kind == StepKind::pump_up;
      rise.receiver = receiver_index(step.receiver);
      rise.steady = survey_.usable(Role::flow);
      if (!rise.steady) rise.note = survey_.sick[index_of(Role::flow)];
      rise.window = whole_turns(stretch.window, speed_in(stretch.window));
      rise.moments = rising_moments(*rise.window);
      rise.winding_lead_k =
          winding_lead_k(survey_, context_.model.thermal, rise.window->middle_s());
      take_grid(rise);
      rise.ripple = Refusal{RefusalKind::missing_step, "nothing is listened to while it rises", {}};
      survey_.holds.push_back(std::move(rise));
    }
  }

  [[nodiscard]] double speed_in(const Window& window) const {
    if (!survey_.usable(Role::speed)) return 0;
    return interpolate(samples(Role::speed).column, window.middle_s()).value_or(0);
  }

  [[nodiscard]] Outcome<SteadyStretch> steady_stretch_of(const Window& settled) const {
    const IndexRange range = inside(survey_.gas.time_s, settled);
    Column inflow;
    for (std::size_t i = range.first; i < range.last; ++i) {
      inflow.time_s.push_back(survey_.gas.time_s[i]);
      inflow.value.push_back(survey_.history.inflow_kg_s[i]);
    }
    const double density = meter_density_kg_m3(context_.bench);
    SampleNoise noise = noise_of(samples(Role::flow));
    noise.sigma_si *= density;
    noise.resolution_si *= density;
    return steady_stretch(settled, inflow, noise, context_.model.steady);
  }

  void take_grid(HoldWindow& hold) const {
    hold.grid = inside(survey_.gas.time_s, *hold.window);
    const std::span time(survey_.gas.time_s.data() + hold.grid.first, hold.grid.count());
    hold.grid_weights = parabolic_weights(time, *hold.window);
    if (hold.grid.count() >= 3) return;
    hold.steady = false;
    hold.note = "too few pressure samples in the window";
  }

  void listen_to_ripple() {
    for (HoldWindow& hold : survey_.holds)
      if (hold.window && !hold.rising) hold.ripple = ripple_of_hold(trace_, context_, *hold.step);
    const bool has_tacho = samples(Role::speed).facts != nullptr;
    if (!has_tacho && context_.bench.current_waveform) take_speed_from_ripple();
  }

  // A hold whose current gives no sure speed is no point; where none does, the speed is missing and
  // what needs no speed stays.
  void take_speed_from_ripple() {
    std::string why;
    std::vector<HoldWindow*> unsure;
    for (HoldWindow& hold : survey_.holds) {
      if (!hold.window) continue;
      const Outcome<WithU> speed =
          hold.ripple ? hold.ripple->speed() : Outcome<WithU>(hold.ripple.error());
      survey_.speed_from_ripple = survey_.speed_from_ripple || speed.has_value();
      if (speed) continue;
      unsure.push_back(&hold);
      if (why.empty()) why = "the bench has no tacho, and at " + hold.step->id + " ";
      hold.note = speed.error().detail;
    }
    if (!survey_.speed_from_ripple) {
      if (!unsure.empty()) survey_.sick[index_of(Role::speed)] = why + unsure.front()->note;
      return;
    }
    survey_.sick[index_of(Role::speed)].clear();
    for (HoldWindow* hold : unsure) {
      hold->window.reset();
      hold->steady = false;
    }
  }

  [[nodiscard]] const StepMark* complete_step(StepKind kind) const {
    const auto found = std::find_if(trace_.steps.begin(), trace_.steps.end(), [&](const auto& s) {
      return s.kind == kind && s.end == StepEnd::complete;
    });
    return found == trace_.steps.end() ? nullptr : &*found;
  }

  // From the moment the motor stopped to that in which the valve of this step shut.
  [[nodiscard]] double rested_s(const StepMark& leak) const {
    std::int64_t stopped_us = 0;
    for (const StepMark& step : trace_.steps)
      if (motor_runs(step.kind)) stopped_us = std::max(stopped_us, step.end_us);
    return 1e-6 * static_cast<double>(*leak.ready_us - stopped_us);
  }

  [[nodiscard]] Outcome<LeakWindow> leak_window(StepKind kind, Role role) const {
    const StepMark* step = complete_step(kind);
    if (step == nullptr)
      return Refusal{RefusalKind::missing_step, "the step was not completed", {}};
    if (!step->ready_us) return Refusal{RefusalKind::missing_step, "the valve was never shut", {}};
    if (!survey_.usable(role))
      return Refusal{RefusalKind::sick_channel, survey_.sick[index_of(role)], {}};
    LeakWindow leak;
    leak.step = step;
    leak.receiver = receiver_index(step->receiver);
    leak.window = {seconds_from(survey_.origin_us, *step->ready_us),
                   seconds_from(survey_.origin_us, step->end_us)};
    const ChannelFacts* body = samples(Role::case_temperature).facts;
    leak.window.start_s += not_watched_s(kind, body == nullptr ? 0 : body->lag_s, rested_s(*step));
    leak.blocks = decay_blocks(samples(role).column, leak.window, noise_of(samples(role)));
    leak.moments = moments_by_role(leak.window);
    return leak;
  }

  const RawTrace& trace_;
  const Context& context_;
  std::span<const ChannelHealth> health_;
  Survey survey_;
};

Turned turned(const Knobs& knobs, Role role, double unit) {
  return {knobs.gain[index_of(role)], knobs.offset_si[index_of(role)] * unit};
}

}  // namespace

std::int64_t bench_time_us(const Survey& survey, double time_s) {
  return survey.origin_us + static_cast<std::int64_t>(std::llround(time_s * 1e6));
}

DryReference meter_reference(const BenchFacts& bench) {
  return {.pressure_abs_pa = bench.meter_reference_pressure_pa,
          .temperature_k = bench.meter_reference_temperature_k};
}

double meter_density_kg_m3(const BenchFacts& bench) {
  return dry_density_kg_m3(meter_reference(bench));
}

GasSettings gas_settings(const Survey& survey, const Knobs& knobs) {
  const Context& context = *survey.context;
  GasSettings settings;
  settings.receivers = context.bench.receivers;
  for (std::size_t i = 0; i < settings.receivers.size(); ++i) {
    settings.receivers[i].volume_m3 *= knobs.volume[i];
    settings.receivers[i].conductance_w_k *= knobs.conductance[i];
    settings.receivers[i].wall_j_k *= knobs.wall[i];
    settings.receivers[i].evaporation_s *= knobs.evaporation;
  }
  const AirState inlet{knobs.reading(Role::barometric_pressure, survey.inlet.pressure_abs_pa),
                       knobs.reading(Role::ambient_temperature, survey.inlet.temperature_k),
                       knobs.reading(Role::relative_humidity, survey.inlet.relative_humidity)};
  settings.inlet_pressure_abs_pa = inlet.pressure_abs_pa;
  settings.inlet_humidity_ratio = humidity_ratio(inlet);
  settings.inlet_head_share = context.model.thermal.inlet_gas_head_share + knobs.inlet_head_share;
  settings.inlet_discharge_share =
      context.model.thermal.inlet_gas_discharge_share + knobs.inlet_discharge_share;
  const Samples& flow = survey.samples[index_of(Role::flow)];
  settings.meter_lag_s = flow.facts == nullptr ? 0 : flow.facts->lag_s;
  settings.gauge = turned(knobs, Role::discharge_pressure, 1);
  settings.metered = turned(knobs, Role::flow, meter_density_kg_m3(context.bench));
  settings.head = turned(knobs, Role::head_temperature, 1);
  settings.ambient = turned(knobs, Role::ambient_temperature, 1);
  return settings;
}

void follow_gas(const Survey& survey, const Knobs& knobs, GasHistory& history) {
  follow_gas(survey.gas, gas_settings(survey, knobs), history);
}

Survey survey_of(const RawTrace& trace, const Context& context,
                 std::span<const ChannelHealth> health) {
  return Surveyor(trace, context, health).run();
}

}  // namespace endgate::analysis

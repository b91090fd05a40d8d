#include "analysis/advise_leak.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include "analysis/conclusion.h"
#include "analysis/gas_of_blocks.h"
#include "analysis/leak_law.h"
#include "analysis/leak_test.h"

namespace endgate::analysis {
namespace {

Role pressure_role(StepKind kind) {
  return kind == StepKind::seal_leak ? Role::seal_pressure : Role::discharge_pressure;
}

// The survey of a test that has nothing but this leak.
class RoughSurvey {
 public:
  RoughSurvey(const StepSums& sums, const Context& context) : sums_(sums), context_(context) {}

  [[nodiscard]] std::optional<Survey> make() {
    survey_.context = &context_;
    for (const RoleFacts& role : kRoles)
      survey_.samples[index_of(role.role)].facts = facts_of_role(context_.bench, role.role);
    if (!take_moments()) return std::nullopt;
    survey_.gas = gas_of_blocks(sums_, context_, level(Role::barometric_pressure));
    survey_.inlet = {level(Role::barometric_pressure), level(Role::ambient_temperature),
                     level(Role::relative_humidity)};
    follow_gas(survey_, Knobs(context_.bench.receivers.size()), survey_.history);
    mark_.id = sums_.step_id;
    mark_.kind = sums_.kind;
    mark_.target_gauge_pa = sums_.target_gauge_pa;
    mark_.receiver = sums_.receiver;
    (sums_.kind == StepKind::seal_leak ? survey_.seal_leak : survey_.back_leak) = leak_window();
    find_seal_cooling_time(survey_);
    return std::move(survey_);
  }

  [[nodiscard]] const StepMark& mark() const { return mark_; }

 private:
  [[nodiscard]] bool take_moments() {
    for (const Role role : {Role::barometric_pressure, Role::ambient_temperature,
                            Role::relative_humidity, Role::case_temperature}) {
      const ChannelFacts* facts = facts_of_role(context_.bench, role);
      if (facts == nullptr) return false;
      const SampleNoise noise{facts->noise_sigma_si, facts->noise_correlation_s,
                              sums_.resolution_si[index_of(role)]};
      const auto found = sums_.dwell[index_of(role)].moments(sums_.now_s, noise, facts->lag_s);
      if (!found) return false;
      moments_[index_of(role)] = *found;
    }
    return true;
  }

  [[nodiscard]] double level(Role role) const { return moments_[index_of(role)].mean; }

  // Pressure of the dwell, a block a sample.
  [[nodiscard]] Column watched() const {
    Column column;
    const Role role = pressure_role(sums_.kind);
    for (const Block& block : sums_.blocks) {
      const auto gauge = role == Role::seal_pressure ? block.seal_gauge_pa : block.gauge_pa;
      if (block.time_s < sums_.watched_s || !gauge) continue;
      column.time_s.push_back(block.time_s);
      column.value.push_back(*gauge - sums_.zero_si[index_of(role)]);
    }
    return column;
  }

  [[nodiscard]] LeakWindow leak_window() const {
    LeakWindow leak;
    leak.step = &mark_;
    leak.window = {sums_.watched_s, sums_.now_s};
    leak.receiver = receiver_of(sums_, context_.bench);
    leak.moments = moments_;
    // Three blocks of the look, at least, make one of the decay.
    SampleNoise noise{.correlation_s = 1.2 * kBlock_s};
    if (const ChannelFacts* facts = facts_of_role(context_.bench, pressure_role(sums_.kind))) {
      noise.sigma_si = facts->noise_sigma_si * std::sqrt(std::min(1.0, facts->period_s / kBlock_s));
      noise.correlation_s = std::max(noise.correlation_s, facts->noise_correlation_s);
    }
    leak.blocks = decay_blocks(watched(), leak.window, noise);
    return leak;
  }

  const StepSums& sums_;
  const Context& context_;
  MomentsByRole moments_{};
  StepMark mark_;
  Survey survey_;
};

Outcome<LeakReading> measured(const Survey& survey, StepKind kind, const Knobs& knobs) {
  if (kind == StepKind::seal_leak) return measure_seal_leak(survey, knobs);
  GasHistory history;
  follow_gas(survey, knobs, history);
  return measure_back_leak(survey, history, knobs);
}

double humidity_offset_u(const BenchFacts& bench) {
  const ChannelFacts* facts = facts_of_role(bench, Role::relative_humidity);
  return facts == nullptr ? 0 : facts->calibration.u_offset_si;
}

using Turn = std::function<void(Knobs&)>;

// Turned each by its own u.
struct Turns {
  std::vector<Turn> of_a_short_dwell;
  std::vector<Turn> of_any_dwell;
};

Turns turns_of_seal(const Context& context) {
  const ThermalCorrection& thermal = context.model.thermal;
  const BenchFacts& bench = context.bench;
  return {{[](Knobs& knobs) { knobs.seal_leak_cooling = 1; },
           [&](Knobs& knobs) { knobs.case_share = thermal.u_seal_case_share; }},
          {[&](Knobs& knobs) { knobs.fixture_seal_leak_m3_s = bench.u_fixture_seal_leak_m3_s; },
           [&](Knobs& knobs) { knobs.seal_volume += bench.u_seal_volume_rel; }}};
}

Turns turns_of_back_leak(const Context& context, std::uint8_t index) {
  const ThermalCorrection& thermal = context.model.thermal;
  const BenchFacts& bench = context.bench;
  const double u_humidity = humidity_offset_u(bench);
  const Receiver& receiver = bench.receivers[index];
  return {{[&](Knobs& knobs) { knobs.leak_start_k = thermal.u_leak_start_k; },
           [&](Knobs& knobs) { knobs.inlet_head_share = thermal.u_inlet_gas_head_share; },
           [&](Knobs& knobs) { knobs.inlet_discharge_share = thermal.u_inlet_gas_discharge_share; },
           [u_humidity](Knobs& knobs) {
             knobs.offset_si[index_of(Role::relative_humidity)] = u_humidity;
           },
           [&, index](Knobs& knobs) { knobs.conductance[index] += receiver.u_conductance_rel; },
           [&, index](Knobs& knobs) { knobs.wall[index] += receiver.u_wall_rel; }},
          {[&](Knobs& knobs) { knobs.fixture_back_leak_m3_s = bench.u_fixture_back_leak_m3_s; },
           [&, index](Knobs& knobs) { knobs.volume[index] += receiver.u_volume_rel; }}};
}

Turns turns_of(const Survey& survey, StepKind kind) {
  return kind == StepKind::seal_leak
             ? turns_of_seal(*survey.context)
             : turns_of_back_leak(*survey.context, survey.back_leak->receiver);
}

// How the leak moves with all of these, in quadrature.
std::optional<double> moved_by(const std::vector<Turn>& turns, const Survey& survey, StepKind kind,
                               double leak_m3_s) {
  double u = 0;
  for (const Turn& turn : turns) {
    Knobs knobs(survey.context->bench.receivers.size());
    turn(knobs);
    const Outcome<LeakReading> turned = measured(survey, kind, knobs);
    if (!turned) return std::nullopt;
    u = std::hypot(u, turned->leak_m3_s - leak_m3_s);
  }
  return u;
}

std::string_view metric_of(StepKind kind) {
  return kind == StepKind::seal_leak ? "seal_leak" : "back_leak";
}
std::string_view service_metric_of(StepKind kind) {
  return kind == StepKind::seal_leak ? "seal_leak_service" : "back_leak_service";
}

// The leak at the pressure of service, as analysis/leak_test.h carries it there.
std::optional<Standpoint> in_service(const Standpoint& leak, const StepSums& sums,
                                     const ModelFacts& model) {
  const double outside_pa = model.reference.inlet_pressure_abs_pa;
  const double service_pa = sums.kind == StepKind::seal_leak ? model.service.seal_leak_gauge_pa
                                                             : model.service.back_leak_gauge_pa;
  if (!(service_pa > 0)) return std::nullopt;
  const Outcome<LeakScale> scale =
      leak_scale(over(outside_pa, sums.target_gauge_pa), over(outside_pa, service_pa));
  if (!scale) return std::nullopt;
  return Standpoint{scale->factor * leak.value, scale->factor * leak.u_random,
                    std::hypot(scale->factor * leak.u_systematic, scale->u * leak.value)};
}

// Certain, and known well beside the limit; or beyond what any dwell could tell.
Certainty certainty_of_leak(const Standpoint& point, const Limit& limit, double share) {
  const double u = std::hypot(point.u_random, point.u_systematic);
  if (certainty_of({point.value, u, 0}, limit) != Certainty::certain)
    return certainty_of(point, limit) == Certainty::never ? Certainty::never : Certainty::open;
  const double bound = limit.upper ? *limit.upper : limit.lower.value_or(0);
  const bool beyond = limit.upper && point.value > *limit.upper;
  return beyond || u <= share * std::abs(bound) ? Certainty::certain : Certainty::open;
}

}  // namespace

bool is_leak(StepKind kind) { return kind == StepKind::back_leak || kind == StepKind::seal_leak; }

std::optional<Standpoint> leak_standpoint(const StepSums& sums, const Context& context) {
  RoughSurvey rough(sums, context);
  const std::optional<Survey> survey = rough.make();
  if (!survey) return std::nullopt;
  if (sums.kind == StepKind::back_leak && survey->back_leak->receiver == kNoReceiver)
    return std::nullopt;
  const Knobs at_rest(context.bench.receivers.size());
  const Outcome<LeakReading> here = measured(*survey, sums.kind, at_rest);
  if (!here) return std::nullopt;
  const Turns turns = turns_of(*survey, sums.kind);
  const auto passing = moved_by(turns.of_a_short_dwell, *survey, sums.kind, here->leak_m3_s);
  const auto lasting = moved_by(turns.of_any_dwell, *survey, sums.kind, here->leak_m3_s);
  if (!passing || !lasting) return std::nullopt;
  return Standpoint{here->leak_m3_s, std::hypot(here->u_random_m3_s, *passing), *lasting};
}

AdviceKind advise_leak(const StepSums& sums, const Context& context) {
  std::vector<const Limit*> limits;
  for (const Limit& limit : context.limits.limits)
    if (limit.metric == metric_of(sums.kind) || limit.metric == service_metric_of(sums.kind))
      limits.push_back(&limit);
  if (limits.empty()) return AdviceKind::keep_on;
  const std::optional<Standpoint> point = leak_standpoint(sums, context);
  if (!point) return AdviceKind::keep_on;
  const double share = sums.kind == StepKind::seal_leak ? kSealLeakShare : kLeakShare;
  bool any_never = false;
  for (const Limit* limit : limits) {
    const bool service = limit->metric == service_metric_of(sums.kind);
    const auto there = service ? in_service(*point, sums, context.model) : point;
    if (!there) return AdviceKind::keep_on;
    const Certainty here = certainty_of_leak(*there, *limit, share);
    if (here == Certainty::open) return AdviceKind::keep_on;
    any_never = any_never || here == Certainty::never;
  }
  return any_never ? AdviceKind::cannot_decide : AdviceKind::decided;
}

}  // namespace endgate::analysis

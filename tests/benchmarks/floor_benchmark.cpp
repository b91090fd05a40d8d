// How near is the scatter of every metric to what the noise of the sensors leaves possible?
//
//   floor_benchmark [tests] [seed]
//
// One healthy unit of each model, tested again and again on one bench: only the noise differs.
//
// FLOOR  the least variance of level and slope of a straight line through the samples of a window whose
//        noise is first-order autoregressive with the sigma and correlation time of the bench file
//        (Cramer and Rao; the information of a Gaussian line, each sample freed of what the one before
//        foretells).  Flow is metered level, its lag undone, and storage by the slope of the
//        pressure.  Levels go through the evaluation's own chain, each moved by its floor.  For a
//        leak: the stated random part, least squares of its block means.
//
// Not in the floor: the step of the raw numbers and the crank's ripple.  Goal: 1.3.

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <map>
#include <string>
#include <vector>

#include "analysis/channel_health.h"
#include "analysis/conclusion.h"
#include "analysis/evaluate.h"
#include "analysis/half_difference.h"
#include "analysis/measured.h"
#include "analysis/moist_air.h"
#include "analysis/survey.h"
#include "analysis/uncertainty_by_cause.h"
#include "fixtures/bench/physics/unit_design.h"
#include "fixtures/history/lockstep_bench.h"
#include "fixtures/history/scenario.h"

namespace {

using namespace endgate;
using namespace endgate::analysis;
using namespace endgate::history;

using Values = std::array<double, kMetrics.size()>;

// Floors of level (at the middle, a lag undone) and slope.
struct LineFloor {
  double level = 0, slope = 0;
};

LineFloor line_floor(const Samples& samples, const Window& window) {
  const ChannelFacts& facts = *samples.facts;
  const IndexRange range = inside(samples.column.time_s, window);
  if (range.count() < 3) return {facts.noise_sigma_si, 0};
  double one = 0, cross = 0, two = 0, before = 0;  // information about level and slope
  for (std::size_t i = range.first; i < range.last; ++i) {
    const double t = samples.column.time_s[i] - window.middle_s();
    double rho = 0;
    if (i > range.first && facts.noise_correlation_s > 0)
      rho = std::exp(-(samples.column.time_s[i] - samples.column.time_s[i - 1]) /
                     facts.noise_correlation_s);
    const double fresh = facts.noise_sigma_si * std::sqrt(1 - rho * rho);
    const double level = (1 - rho) / fresh, slope = (t - rho * before) / fresh;
    one += level * level;
    cross += level * slope;
    two += slope * slope;
    before = t;
  }
  const double determinant = one * two - cross * cross;
  const double lag = facts.lag_s;
  const double of_level = (two - 2 * lag * cross + lag * lag * one) / determinant;
  return {std::sqrt(of_level), std::sqrt(one / determinant)};
}

Values values_of(const Conclusion& conclusion) {
  Values values{};
  for (std::size_t i = 0; i < values.size(); ++i)
    values[i] = conclusion.metrics[i] ? conclusion.metrics[i]->value : std::nan("");
  return values;
}

// The chain of one test, and what its numbers do when something in it is moved.
class Floors {
 public:
  Floors(const RawTrace& trace, const Context& context)
      : health_(judge_channels(trace, context.bench)),
        survey_(survey_of(trace, context, health_)),
        at_rest_(context.bench.receivers.size()),
        measured_(measure(survey_, at_rest_, survey_.history)),
        plan_(plan_of(survey_, measured_)) {
    weigh(survey_, measured_, plan_);
    const Conclusion conclusion = conclude(survey_, plan_, measured_, at_rest_);
    here_ = values_of(conclusion);
    plan_.from_free = conclusion.from_free;
  }

  [[nodiscard]] const Values& here() const { return here_; }

  [[nodiscard]] Values floors() {
    for (std::size_t i = 0; i < survey_.holds.size(); ++i)
      if (survey_.holds[i].window) add_hold(i);
    for (const RoleFacts& role : kRoles) add_zero(role.role);
    add_leak(&Measured::back_leak);
    add_leak(&Measured::seal_leak);
    Values floors{};
    for (std::size_t m = 0; m < floors.size(); ++m) floors[m] = std::sqrt(squares_[m]);
    return floors;
  }

 private:
  template <class Run>
  void add(const Run& run) {
    const Values low = run(-1.0), high = run(1.0);
    for (std::size_t m = 0; m < squares_.size(); ++m) {
      const double part = half_difference(low[m], here_[m], high[m]);
      if (std::isfinite(part)) squares_[m] += part * part;
    }
  }

  template <class Member>
  void shake(double by, const Member& member) {
    if (by <= 0) return;
    add([&](double sign) {
      Measured measured = measured_;
      member(measured) += sign * by;
      return values_of(conclude(survey_, plan_, measured, at_rest_));
    });
  }

  [[nodiscard]] double flow_floor(std::size_t i) const {
    const HoldWindow& hold = survey_.holds[i];
    const HoldReading& reading = measured_.holds[i];
    const GasSettings settings = gas_settings(survey_, at_rest_);
    double mass = meter_density_kg_m3(survey_.context->bench) * floor(Role::flow, hold).level;
    const double inlet = reading.state.inlet_temperature_k;
    if (hold.receiver < settings.receivers.size())
      mass = std::hypot(mass,
                        storage_kg_pa(settings.receivers[hold.receiver],
                                      mixture_gas_constant(settings.inlet_humidity_ratio), inlet) *
                            floor(Role::discharge_pressure, hold).slope);
    return free_air_m3_s(mass,
                         {reading.state.inlet_pressure_abs_pa, inlet, reading.relative_humidity});
  }

  [[nodiscard]] LineFloor floor(Role role, const HoldWindow& hold) const {
    return line_floor(survey_.samples[index_of(role)], *hold.window);
  }

  void add_hold(std::size_t i) {
    const HoldWindow& hold = survey_.holds[i];
    shake(flow_floor(i), [i](Measured& m) -> double& { return m.holds[i].flow_inlet_m3_s; });
    shake(floor(Role::speed, hold).level,
          [i](Measured& m) -> double& { return m.holds[i].speed_rev_s; });
    shake(floor(Role::supply_current, hold).level,
          [i](Measured& m) -> double& { return m.holds[i].supply_current_a; });
    shake(floor(Role::supply_voltage, hold).level,
          [i](Measured& m) -> double& { return m.holds[i].state.supply_voltage_v; });
    shake(floor(Role::discharge_pressure, hold).level,
          [i](Measured& m) -> double& { return m.holds[i].state.discharge_gauge_pa; });
  }

  void add_zero(Role role) {
    const Samples& samples = survey_.samples[index_of(role)];
    if (!samples.zeroed) return;
    add([&](double sign) {
      Knobs knobs = at_rest_;
      knobs.offset_si[index_of(role)] = sign * samples.u_zero_si;
      GasHistory history;
      follow_gas(survey_, knobs, history);
      return values_of(conclude(survey_, plan_, measure(survey_, knobs, history), knobs));
    });
  }

  void add_leak(Outcome<LeakReading> Measured::*leak) {
    if (!(measured_.*leak)) return;
    shake((measured_.*leak)->u_random_m3_s,
          [leak](Measured& m) -> double& { return (m.*leak)->leak_m3_s; });
  }

  std::vector<ChannelHealth> health_;
  Survey survey_;
  Knobs at_rest_;
  Measured measured_;
  Plan plan_;
  Values here_{};
  Values squares_{};
};

struct Tally {
  double sum = 0, squares = 0, floor_squares = 0, stated_squares = 0;
  int tests = 0;
};

double stated_random(const Evaluation& evaluation, std::string_view id) {
  for (const Metric& metric : evaluation.metrics)
    for (const UncertaintyPart& part : metric.parts)
      if (metric.id == id && part.cause == "random") return part.u;
  return 0;
}

void test_model(const Scenario& scenario, const std::string& model, int tests, std::uint64_t seed) {
  const Context context = scenario.context("north", model);
  std::map<std::size_t, Tally> tallies;
  for (int i = 0; i < tests; ++i) {
    simbench::InstrumentsOptions options;
    options.seed = seed;
    options.noise_seed = seed + 1 + static_cast<std::uint64_t>(i);
    LockstepBench bench(scenario.benches.at("north"), scenario.channel_calibrations("north"),
                        options);
    const daemon::FinishedTest test = bench.test(
        simbench::nominal_design(*simbench::model_of(model)), scenario.models.at(model), &context);
    const Evaluation evaluation = evaluate(test.trace, context);
    Floors chain(test.trace, context);
    const Values floors = chain.floors();
    for (std::size_t m = 0; m < kMetrics.size(); ++m) {
      const double value = chain.here()[m];
      if (!std::isfinite(value) || !(floors[m] > 0)) continue;
      Tally& tally = tallies[m];
      ++tally.tests;
      tally.sum += value;
      tally.squares += value * value;
      tally.floor_squares += floors[m] * floors[m];
      const double stated = stated_random(evaluation, kMetrics[m].id);
      tally.stated_squares += stated * stated;
    }
  }
  for (const auto& [m, tally] : tallies) {
    const std::string id(kMetrics[m].id);
    if (std::ranges::find(context.model.metrics, id) == context.model.metrics.end()) continue;
    const double n = tally.tests, mean = tally.sum / n;
    const double scatter = std::sqrt(std::max(0.0, tally.squares - n * mean * mean) / (n - 1));
    const double floor = std::sqrt(tally.floor_squares / n);
    std::printf("%-10s %-26s %4d %9.4f %9.4f %9.4f %7.2f\n", model.c_str(), id.c_str(), tally.tests,
                100 * scatter / std::abs(mean), 100 * floor / std::abs(mean),
                100 * std::sqrt(tally.stated_squares / n) / std::abs(mean), scatter / floor);
  }
}

}  // namespace

int main(int argc, char** argv) {
  const int tests = argc > 1 ? std::atoi(argv[1]) : 100;
  const std::uint64_t seed = argc > 2 ? std::strtoull(argv[2], nullptr, 10) : 1;
  const Scenario scenario = load_scenario(std::string(ENDGATE_SOURCE_DIR) + "/fixtures/scenario");
  std::printf("%-10s %-26s %4s %9s %9s %9s %7s\n", "model", "metric", "n", "sd %", "floor %",
              "stated %", "ratio");
  for (const auto& [model, definition] : scenario.models) test_model(scenario, model, tests, seed);
  return 0;
}

#include "analysis/uncertainty_by_cause.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <utility>

#include "analysis/distributions.h"
#include "analysis/half_difference.h"
#include "analysis/motor_constants.h"

namespace endgate::analysis {
namespace {

constexpr double kInertia_u_rel = 0.1;  // of what a data sheet or a run-down says
constexpr double kLate_u_s = 0.1;       // of flow against pressure, beyond the stated lags

Numbers numbers_of(const Conclusion& conclusion) {
  Numbers numbers{};
  for (std::size_t i = 0; i < kMetrics.size(); ++i)
    numbers[i] = conclusion.metrics[i] ? conclusion.metrics[i]->value : std::nan("");
  for (std::size_t i = 0; i < kDrawn; ++i)
    numbers[kMetrics.size() + i] = conclusion.drawn[i] ? conclusion.drawn[i]->value : std::nan("");
  return numbers;
}

// Independent parts of one cause.
class Joined {
 public:
  void add(const Numbers& part) {
    for (std::size_t i = 0; i < part.size(); ++i) {
      squares_[i] += part[i] * part[i];
      if (std::abs(part[i]) > std::abs(largest_[i])) largest_[i] = part[i];
    }
  }
  void scale_and_add(const Numbers& part, double factor) {
    Numbers scaled = part;
    for (double& value : scaled) value *= factor;
    add(scaled);
  }
  [[nodiscard]] Numbers value() const {
    Numbers joined{};
    for (std::size_t i = 0; i < joined.size(); ++i)
      joined[i] = std::copysign(std::sqrt(squares_[i]), largest_[i]);
    return joined;
  }

 private:
  Numbers squares_{};
  Numbers largest_{};
};

// By how much the flows of a rise move when it is kLate_u_s later than the pressure; 0 for holds.
std::vector<double> late_flow_m3_s(const Survey& survey, const Measured& measured) {
  const std::size_t count = survey.holds.size();
  std::vector<double> moved(count, 0);
  const auto rises_with = [&](std::size_t i, std::size_t other) {
    return other < count && survey.holds[other].rising && survey.holds[other].window &&
           survey.holds[other].step == survey.holds[i].step;
  };
  for (std::size_t i = 0; i < count; ++i) {
    if (!survey.holds[i].rising || !survey.holds[i].window) continue;
    const std::size_t first = i > 0 && rises_with(i, i - 1) ? i - 1 : i;
    const std::size_t last = rises_with(i, i + 1) ? i + 1 : i;
    const double passed_s =
        survey.holds[last].window->middle_s() - survey.holds[first].window->middle_s();
    if (!(passed_s > 0)) continue;
    moved[i] = kLate_u_s / passed_s *
               (measured.holds[last].flow_inlet_m3_s - measured.holds[first].flow_inlet_m3_s);
  }
  return moved;
}

using Turn = std::function<void(Knobs&, double)>;      // by so many standard uncertainties
using Shake = std::function<void(Measured&, double)>;  // of what was measured

class Causes {
 public:
  explicit Causes(const Chain& chain)
      : chain_(chain),
        plan_(chain.plan),
        bench_(chain.survey.context->bench),
        thermal_(chain.survey.context->model.thermal),
        here_(numbers_of(chain.conclusion)) {
    plan_.from_free = chain.conclusion.from_free;
  }

  std::vector<CausePart> run() {
    random();
    for (const RoleFacts& facts : kRoles) calibration(facts.role);
    waveform_clock();
    constants();
    thermal();
    reference();
    model();
    return std::move(parts_);
  }

 private:
  [[nodiscard]] Knobs at_rest() const { return Knobs(bench_.receivers.size()); }

  [[nodiscard]] Numbers turned(const Turn& turn, bool gas_unmoved) {
    const auto run = [&](double by) {
      Knobs knobs = at_rest();
      turn(knobs, by);
      if (!gas_unmoved) follow_gas(chain_.survey, knobs, history_);
      const Measured measured =
          measure(chain_.survey, knobs, gas_unmoved ? chain_.survey.history : history_);
      return numbers_of(conclude(chain_.survey, plan_, measured, knobs));
    };
    return differences(run);
  }

  [[nodiscard]] Numbers shaken(const Shake& shake) const {
    const Knobs knobs = at_rest();
    const auto run = [&](double by) {
      Measured measured = chain_.measured;
      shake(measured, by);
      return numbers_of(conclude(chain_.survey, plan_, measured, knobs));
    };
    return differences(run);
  }

  template <class Run>
  [[nodiscard]] Numbers differences(const Run& run) const {
    const Numbers low = run(-1);
    const Numbers high = run(+1);
    Numbers part{};
    for (std::size_t i = 0; i < part.size(); ++i)
      part[i] = half_difference(low[i], here_[i], high[i]);
    return part;
  }

  void random() {
    Joined joined;
    for (std::size_t i = 0; i < chain_.survey.holds.size(); ++i)
      if (chain_.survey.holds[i].window) hold_noise(i, joined);
    zeros(joined);
    leak_noise(joined);
    run_down(joined);
    close("random", joined);
  }

  void hold_noise(std::size_t i, Joined& joined) {
    const HoldNoise noise =
        noise_of(chain_.survey, chain_.survey.holds[i], chain_.measured.holds[i]);
    const auto add = [&](double u, const auto& member) {
      if (u > 0)
        joined.add(
            shaken([&](Measured& measured, double by) { member(measured.holds[i]) += by * u; }));
    };
    add(noise.flow_m3_s, [](HoldReading& r) -> double& { return r.flow_inlet_m3_s; });
    add(noise.speed_rev_s, [](HoldReading& r) -> double& { return r.speed_rev_s; });
    add(noise.current_a, [](HoldReading& r) -> double& { return r.supply_current_a; });
    add(noise.voltage_v, [](HoldReading& r) -> double& { return r.state.supply_voltage_v; });
    add(noise.ripple_speed_rev_s, [](HoldReading& r) -> double& { return r.ripple_speed_rev_s; });
    add(noise.cylinder_imbalance, [](HoldReading& r) -> double& { return r.cylinder_imbalance; });
    add(noise.commutator_irregularity,
        [](HoldReading& r) -> double& { return r.commutator_irregularity; });
    add(noise.gauge_pa, [](HoldReading& r) -> double& { return r.state.discharge_gauge_pa; });
  }

  // A zero is taken in every test anew: its error is shared by the holds, but not by two tests.
  void zeros(Joined& joined) {
    for (const RoleFacts& facts : kRoles) {
      const Samples& samples = chain_.survey.samples[index_of(facts.role)];
      if (!samples.zeroed || !chain_.survey.usable(facts.role)) continue;
      joined.add(offset_part(facts.role, samples.u_zero_si));
    }
  }

  void leak_noise(Joined& joined) {
    const auto add = [&](Outcome<LeakReading> Measured::*leak) {
      if (!(chain_.measured.*leak)) return;
      const double u = (chain_.measured.*leak)->u_random_m3_s;
      joined.add(
          shaken([&](Measured& measured, double by) { (measured.*leak)->leak_m3_s += by * u; }));
    };
    add(&Measured::back_leak);
    add(&Measured::seal_leak);
  }

  void run_down(Joined& joined) {
    if (!chain_.measured.run_down) return;
    const RunDownNoise noise = noise_of_run_down(chain_.survey);
    // Found in the same samples: what moves the back-EMF moves the fall along, the rest is its own.
    const double along = noise.u_back_emf_v > 0 ? noise.covariance_v2_s / noise.u_back_emf_v : 0;
    const double own =
        std::sqrt(std::max(0.0, noise.u_fall_v_s * noise.u_fall_v_s - along * along));
    joined.add(shaken([&](Measured& measured, double by) {
      measured.run_down->back_emf_v += by * noise.u_back_emf_v;
      measured.run_down->fall_v_s += by * along;
    }));
    joined.add(
        shaken([&](Measured& measured, double by) { measured.run_down->fall_v_s += by * own; }));
  }

  static bool moves_gas(Role role) {
    return role == Role::discharge_pressure || role == Role::flow ||
           role == Role::barometric_pressure || role == Role::ambient_temperature ||
           role == Role::head_temperature || role == Role::relative_humidity;
  }

  [[nodiscard]] Numbers offset_part(Role role, double u_si) {
    return turned([&](Knobs& knobs, double by) { knobs.offset_si[index_of(role)] += by * u_si; },
                  !moves_gas(role));
  }

  void calibration(Role role) {
    const Samples& samples = chain_.survey.samples[index_of(role)];
    if (samples.facts == nullptr || !chain_.survey.usable(role)) return;
    const ChannelCalibration& known = samples.facts->calibration;
    Joined joined;
    if (known.u_gain_rel > 0)
      joined.add(turned(
          [&](Knobs& knobs, double by) { knobs.gain[index_of(role)] += by * known.u_gain_rel; },
          !moves_gas(role)));
    if (known.u_offset_si > 0 && !samples.zeroed) joined.add(offset_part(role, known.u_offset_si));
    close(known.id + "/" + samples.facts->id, joined);
  }

  // That of the device that samples the current: shared by every speed found in it.
  void waveform_clock() {
    if (!bench_.current_waveform) return;
    Joined joined;
    joined.add(turned(
        [&](Knobs& knobs, double by) {
          knobs.waveform_clock += by * bench_.current_waveform->u_clock_rel;
        },
        true));
    close("clock of " + bench_.current_waveform->id, joined);
  }

  void constants() {
    for (std::size_t i = 0; i < bench_.receivers.size(); ++i) {
      const Receiver& receiver = bench_.receivers[i];
      if (!in_use(i)) continue;
      Joined& joined = constants_of(receiver.constants);
      if (receiver.u_volume_rel > 0)
        joined.add(
            turned([&](Knobs& knobs, double by) { knobs.volume[i] += by * receiver.u_volume_rel; },
                   false));
      if (receiver.u_conductance_rel > 0)
        joined.add(
            turned([&](Knobs& knobs,
                       double by) { knobs.conductance[i] += by * receiver.u_conductance_rel; },
                   false));
      if (receiver.wall_j_k > 0)
        joined.add(turned(
            [&](Knobs& knobs, double by) { knobs.wall[i] += by * receiver.u_wall_rel; }, false));
      if (receiver.evaporation_s > 0)
        joined.add(turned(
            [&](Knobs& knobs, double by) {
              knobs.evaporation *= std::exp(by * receiver.u_evaporation_rel);
            },
            false));
    }
    fixture();
    for (const auto& [id, joined] : constants_) close(id, joined);
  }

  [[nodiscard]] bool in_use(std::size_t receiver) const {
    const auto& used = chain_.survey.gas.receiver;
    return std::find(used.begin(), used.end(), static_cast<std::uint8_t>(receiver)) != used.end();
  }

  // Housing and fixture are constants of the bench, kept under the same id as its receivers.
  void fixture() {
    Joined& joined = constants_of(bench_.receivers.empty() ? "constants " + bench_.id
                                                           : bench_.receivers.front().constants);
    joined.add(
        turned([&](Knobs& knobs, double by) { knobs.seal_volume += by * bench_.u_seal_volume_rel; },
               true));
    joined.add(turned(
        [&](Knobs& knobs, double by) {
          knobs.fixture_back_leak_m3_s += by * bench_.u_fixture_back_leak_m3_s;
        },
        true));
    joined.add(turned(
        [&](Knobs& knobs, double by) {
          knobs.fixture_seal_leak_m3_s += by * bench_.u_fixture_seal_leak_m3_s;
        },
        true));
  }

  Joined& constants_of(const std::string& id) {
    for (auto& [known, joined] : constants_)
      if (known == id) return joined;
    return constants_.emplace_back(id, Joined{}).second;
  }

  void thermal() {
    Joined joined;
    const double u = thermal_.u_rel_of_correction;
    joined.add(turned([&](Knobs& knobs, double by) { knobs.flow_per_head += by * u; }, true));
    joined.add(turned([&](Knobs& knobs, double by) { knobs.flow_per_case += by * u; }, true));
    joined.add(turned([&](Knobs& knobs, double by) { knobs.speed_per_case += by * u; }, true));
    joined.add(turned([&](Knobs& knobs, double by) { knobs.current_per_case += by * u; }, true));
    joined.add(turned([&](Knobs& knobs, double by) { knobs.current_per_head += by * u; }, true));
    if (thermal_.u_current_per_speed > 0)
      joined.add(
          turned([&](Knobs& knobs,
                     double by) { knobs.current_per_speed += by * thermal_.u_current_per_speed; },
                 true));
    if (thermal_.flow_per_speed > 0)
      joined.add(turned(
          [&](Knobs& knobs, double by) { knobs.flow_per_speed += by * thermal_.u_flow_per_speed; },
          true));
    if (thermal_.winding_k_w > 0)
      joined.add(turned(
          [&](Knobs& knobs, double by) { knobs.winding_lead += by * thermal_.u_winding_rel; },
          true));
    joined.add(turned(
        [&](Knobs& knobs, double by) { knobs.case_share += by * thermal_.u_seal_case_share; },
        true));
    joined.add(
        turned([&](Knobs& knobs,
                   double by) { knobs.inlet_head_share += by * thermal_.u_inlet_gas_head_share; },
               false));
    if (thermal_.u_inlet_gas_discharge_share > 0)
      joined.add(turned(
          [&](Knobs& knobs, double by) {
            knobs.inlet_discharge_share += by * thermal_.u_inlet_gas_discharge_share;
          },
          false));
    close("correction thermal", joined);
  }

  void reference() {
    Joined joined;
    joined.add(
        turned([](Knobs& knobs, double by) { knobs.voltage_step += by * kStep_u_rel; }, true));
    joined.add(
        turned([](Knobs& knobs, double by) { knobs.barometer_step += by * kStep_u_rel; }, true));
    close("correction reference", joined);
  }

  void model() {
    Joined joined;
    for (std::size_t i = 0; i < chain_.survey.holds.size(); ++i) {
      const double u = form_u(i);
      if (!(u > 0)) continue;
      joined.add(shaken([&](Measured& measured, double by) {
        measured.holds[i].flow_inlet_m3_s += by * u;
        measured.holds[i].beside_curve_m3_s += by * u;
      }));
      if (excess_ > 0) joined.add(excess_part(i));
    }
    leak_heat(joined);
    motor(joined);
    joined.add(turned([](Knobs& knobs, double by) { knobs.inertia += by * kInertia_u_rel; }, true));
    const std::vector<double> late = late_flow_m3_s(chain_.survey, chain_.measured);
    joined.add(shaken([&](Measured& measured, double by) {
      for (std::size_t i = 0; i < late.size(); ++i)
        measured.holds[i].flow_inlet_m3_s += by * late[i];
    }));
    close("model", joined);
  }

  // What analysis/motor_constants.h states.
  void motor(Joined& joined) {
    if (!chain_.measured.run_down) return;
    const auto add = [&](double Knobs::*knob, double u) {
      joined.add(turned([&](Knobs& knobs, double by) { knobs.*knob += by * u; }, true));
    };
    add(&Knobs::voltage_lag, kLag_u_rel);
    add(&Knobs::opened_s, kOpened_u_s);
    add(&Knobs::winding_k, kWinding_u_k);
    add(&Knobs::no_load, kNoLoad_u_rel);
  }

  // Temperature of the gas in the leak dwells, and by which law they leak.
  void leak_heat(Joined& joined) {
    const double u = thermal_.u_leak_start_k;
    joined.add(turned([&](Knobs& knobs, double by) { knobs.leak_start_k += by * u; }, true));
    joined.add(turned([](Knobs& knobs, double by) { knobs.seal_leak_cooling += by; }, true));
    joined.add(turned([](Knobs& knobs, double by) { knobs.back_leak_law += by; }, true));
    joined.add(turned([](Knobs& knobs, double by) { knobs.seal_leak_law += by; }, true));
  }

  // What the form may miss at this hold.
  [[nodiscard]] double form_u(std::size_t i) const {
    if (!chain_.survey.holds[i].window || !chain_.survey.holds[i].steady) return 0;
    return kFormRel * std::abs(chain_.measured.holds[i].flow_inlet_m3_s);
  }

  // The holds scatter more than their u explains: whatever does it, it is an error of the hold.
  [[nodiscard]] Numbers excess_part(std::size_t i) const {
    const double u = chain_.plan.weight_u_m3_s[i] * std::sqrt(excess_);
    return shaken(
        [&](Measured& measured, double by) { measured.holds[i].flow_inlet_m3_s += by * u; });
  }

  void close(std::string cause, const Joined& joined) {
    parts_.push_back({std::move(cause), joined.value()});
  }

  [[nodiscard]] static double excess_of(const Conclusion& conclusion) {
    if (!conclusion.curve || conclusion.curve->degrees_of_freedom < 1) return 0;
    const double dof = conclusion.curve->degrees_of_freedom;
    const Outcome<double> limit = chi_square_quantile(0.95, dof);
    if (!limit || conclusion.curve->chi_square <= *limit) return 0;
    return conclusion.curve->chi_square / dof - 1;
  }

  const Chain& chain_;
  Plan plan_;  // of the runs that differ
  const BenchFacts& bench_;
  const ThermalCorrection& thermal_;
  const Numbers here_;
  const double excess_ = excess_of(chain_.conclusion);
  GasHistory history_;  // of the run at hand
  std::vector<std::pair<std::string, Joined>> constants_;
  std::vector<CausePart> parts_;
};

// What moves the points of one test together, each by its own amount: the constants of the receivers
// in use and the temperature at which gas enters them.
std::vector<Turn> shared_causes(const Survey& survey) {
  const Context& context = *survey.context;
  std::vector<Turn> causes;
  const auto& used = survey.gas.receiver;
  for (std::size_t r = 0; r < context.bench.receivers.size(); ++r) {
    if (std::ranges::find(used, static_cast<std::uint8_t>(r)) == used.end()) continue;
    const Receiver& receiver = context.bench.receivers[r];
    causes.push_back(
        [&receiver, r](Knobs& knobs, double by) { knobs.volume[r] += by * receiver.u_volume_rel; });
    causes.push_back([&receiver, r](Knobs& knobs, double by) {
      knobs.conductance[r] += by * receiver.u_conductance_rel;
    });
  }
  const ThermalCorrection& thermal = context.model.thermal;
  causes.push_back([&thermal](Knobs& knobs, double by) {
    knobs.inlet_head_share += by * thermal.u_inlet_gas_head_share;
  });
  causes.push_back([&thermal](Knobs& knobs, double by) {
    knobs.inlet_discharge_share += by * thermal.u_inlet_gas_discharge_share;
  });
  return causes;
}

// By how much one standard uncertainty of each moves the flow of each hold.
void find_shared(const Survey& survey, const Measured& measured, Plan& plan) {
  GasHistory history;
  for (const Turn& turn : shared_causes(survey)) {
    Knobs knobs(survey.context->bench.receivers.size());
    turn(knobs, 1);
    follow_gas(survey, knobs, history);
    const Measured moved = measure(survey, knobs, history);
    for (std::size_t i = 0; i < survey.holds.size(); ++i)
      plan.shared_m3_s[i].push_back(moved.holds[i].flow_inlet_m3_s -
                                    measured.holds[i].flow_inlet_m3_s);
  }
  const std::vector<double> late = late_flow_m3_s(survey, measured);
  for (std::size_t i = 0; i < late.size(); ++i) plan.shared_m3_s[i].push_back(late[i]);
}

}  // namespace

std::vector<CausePart> parts_by_cause(const Chain& chain) { return Causes(chain).run(); }

void weigh(const Survey& survey, const Measured& measured, Plan& plan) {
  find_shared(survey, measured, plan);
  for (std::size_t i = 0; i < survey.holds.size(); ++i) {
    if (!survey.holds[i].window) continue;
    const HoldReading& reading = measured.holds[i];
    const double random = noise_of(survey, survey.holds[i], reading).flow_m3_s;
    const double form = kFormRel * reading.flow_inlet_m3_s;
    plan.weight_u_m3_s[i] = std::hypot(random, form) + 1e-12;
    plan.form_share[i] = std::pow(form / plan.weight_u_m3_s[i], 2);
  }
}

}  // namespace endgate::analysis

#include "analysis/commissioning_receiver.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/leak_test.h"
#include "analysis/least_squares.h"
#include "analysis/pressure_decay.h"

namespace endgate::analysis {
namespace {

// Logarithms of G, C_w, K, tau_e, then errors shared by all dwells, in units of their u: share of
// the head in the inlet gas, relative humidity, share of the compression in the inlet gas.
constexpr std::size_t kShape = 7;
constexpr std::size_t kHumidity = 5;
constexpr std::array<double, kShape> kPrior{0.7, 0.7, 0.7, 1.0, 1.0, 1.0, 1.0};
constexpr double kStart_k = 10;
constexpr double kInletStart_k = 0.5;
constexpr double kWideHeadShare = 0.3;  // priors where the shares are looked for
constexpr double kWideDischargeShare = 0.05;
constexpr double kStep_ln = 0.02;  // of the difference quotients
constexpr double kStep_k = 0.1;
constexpr int kRounds = 20;
constexpr double kLongestMove_ln = 0.3;
constexpr double kLeast_u_rel = 0.02;
constexpr double kLeast_u_evaporation_rel = 0.15;  // a film of water is never twice the same
constexpr double kLeast_u_wall_rel = 0.1;          // it has one temperature in the model only
constexpr std::array<double, 4> kFiner_s{0, 8, 40, 1e9};  // each stretch has its own blocks

struct Dwell {
  const Survey* survey = nullptr;
  std::vector<DecayBlock> blocks;
  std::vector<double> lost;  // (p_ref/V) (T_w/T_ref) integral of D dt, per unit of c
};

std::vector<DecayBlock> fine_blocks(const Survey& survey, const LeakWindow& leak) {
  const Samples& samples = survey.samples[index_of(Role::discharge_pressure)];
  const SampleNoise noise{samples.facts->noise_sigma_si, samples.facts->noise_correlation_s,
                          samples.resolution_si};
  std::vector<DecayBlock> all;
  for (std::size_t k = 0; k + 1 < kFiner_s.size(); ++k) {
    const Window part{leak.window.start_s + kFiner_s[k],
                      std::min(leak.window.end_s, leak.window.start_s + kFiner_s[k + 1])};
    if (!(part.length_s() > 1)) break;
    for (DecayBlock block : decay_blocks(samples.column, part, noise)) {
      block.time_s += kFiner_s[k];
      all.push_back(block);
    }
  }
  return all;
}

std::vector<double> lost_per_leak(const Dwell& dwell, const Receiver& receiver) {
  const ReferenceConditions& reference = dwell.survey->context->model.reference;
  const double outside = dwell.survey->inlet.pressure_abs_pa;
  const double factor = reference.inlet_pressure_abs_pa / receiver.volume_m3 *
                        dwell.survey->inlet.temperature_k / reference.inlet_temperature_k;
  std::vector<double> lost(dwell.blocks.size(), 0);
  for (std::size_t i = 0; i < lost.size(); ++i) {
    const double now = laminar_driving_pa2(dwell.blocks[i].pressure_pa, outside);
    const double before_s = i == 0 ? 0 : dwell.blocks[i - 1].time_s;
    lost[i] = (i == 0 ? 0 : lost[i - 1]) + factor * now * (dwell.blocks[i].time_s - before_s);
  }
  return lost;
}

class Learner {
 public:
  Learner(std::vector<Dwell> dwells, std::size_t index, Learn what)
      : dwells_(std::move(dwells)),
        index_(index),
        what_(what),
        guess_(dwells_.front().survey->context->bench.receivers[index]),
        start_k_(dwells_.size(), 0) {}

  Outcome<ReceiverLearnt> run() {
    for (int round = 0; round < kRounds; ++round) {
      const Outcome<LinearFit> fit = solve_least_squares(linearised());
      if (!fit) return fit.error();
      fit_ = *fit;
      if (move() < 1e-4) break;
    }
    return learnt();
  }

 private:
  using Shape = std::array<double, kShape>;
  [[nodiscard]] std::size_t leak_column() const { return kShape; }
  [[nodiscard]] std::size_t start_column(std::size_t j) const { return kShape + 1 + 2 * j; }

  [[nodiscard]] Receiver shaped(const Shape& ln) const {
    Receiver receiver = guess_;
    receiver.conductance_w_k *= std::exp(ln[0]);
    receiver.wall_j_k *= std::exp(ln[1]);
    receiver.wall_to_room_w_k *= std::exp(ln[2]);
    receiver.evaporation_s *= std::exp(ln[3]);
    return receiver;
  }

  [[nodiscard]] double u_head_share() const {
    const auto& thermal = dwells_.front().survey->context->model.thermal;
    return what_ == Learn::inlet ? kWideHeadShare : thermal.u_inlet_gas_head_share;
  }
  [[nodiscard]] double u_discharge_share() const {
    const auto& thermal = dwells_.front().survey->context->model.thermal;
    return what_ == Learn::inlet ? kWideDischargeShare : thermal.u_inlet_gas_discharge_share;
  }

  [[nodiscard]] bool learns(std::size_t k) const {
    if (what_ == Learn::everything) return true;
    return what_ == Learn::inlet && k >= 4;
  }

  void add_shared_errors(const Survey& survey, const Shape& shape, GasSettings& settings) const {
    const Samples& humidity = survey.samples[index_of(Role::relative_humidity)];
    const double u_humidity = humidity.facts->calibration.u_offset_si;
    settings.inlet_head_share += shape[4] * u_head_share();
    settings.inlet_discharge_share += shape[6] * u_discharge_share();
    settings.inlet_humidity_ratio *=
        1 + shape[kHumidity] * u_humidity / std::max(0.05, survey.inlet.relative_humidity);
  }

  // p_tight less the pressure at the start, at every block of dwell j.
  [[nodiscard]] std::vector<double> tight(std::size_t j, const Shape& ln, double warmer_k) {
    const Survey& survey = *dwells_[j].survey;
    GasSettings settings = gas_settings(survey, Knobs(survey.context->bench.receivers.size()));
    settings.receivers[index_] = shaped(ln);
    add_shared_errors(survey, ln, settings);
    follow_gas(survey.gas, settings, history_);
    const ShutReceiver start =
        shut_receiver(survey, settings, history_, {*survey.back_leak, warmer_k});
    std::vector<double> time_s;
    for (const DecayBlock& block : dwells_[j].blocks) time_s.push_back(block.time_s);
    std::vector<double> pressure = shut_pressure_abs_pa(start, time_s);
    for (double& value : pressure) value -= settings.inlet_pressure_abs_pa;
    return pressure;
  }

  // Rows of (1) around the present parameters; unknown are the moves.
  [[nodiscard]] LinearSystem linearised() {
    const std::size_t columns = kShape + 1 + 2 * dwells_.size();
    LinearSystem system(columns);
    for (std::size_t j = 0; j < dwells_.size(); ++j) add_dwell(j, columns, system);
    for (std::size_t k = 0; k < kShape; ++k) {
      std::vector<double> row(columns, 0);
      row[k] = 1;
      const double u = learns(k) ? kPrior[k] : 1e-6;
      system.add(row, {-shape_[k], u});
    }
    for (std::size_t j = 0; j < dwells_.size(); ++j) {
      std::vector<double> row(columns, 0);
      row[start_column(j)] = 1;
      system.add(row, {-start_k_[j], what_ == Learn::inlet ? kInletStart_k : kStart_k});
    }
    return system;
  }

  void add_dwell(std::size_t j, std::size_t columns, LinearSystem& system) {
    const std::vector<double> here = tight(j, shape_, start_k_[j]);
    std::array<std::vector<double>, kShape> turned;
    for (std::size_t k = 0; k < kShape; ++k) {
      Shape ln = shape_;
      ln[k] += kStep_ln;
      turned[k] = learns(k) ? tight(j, ln, start_k_[j]) : here;
    }
    const std::vector<double> warmer = tight(j, shape_, start_k_[j] + kStep_k);
    for (std::size_t i = 0; i < here.size(); ++i) {
      std::vector<double> row(columns, 0);
      for (std::size_t k = 0; k < kShape; ++k) row[k] = (turned[k][i] - here[i]) / kStep_ln;
      row[leak_column()] = -dwells_[j].lost[i] * kLeakUnit;
      row[start_column(j)] = (warmer[i] - here[i]) / kStep_k;
      row[start_column(j) + 1] = 1;
      system.add(row, {dwells_[j].blocks[i].pressure_pa - here[i], dwells_[j].blocks[i].u_pa});
    }
  }

  // The longest step in ln; what is too long is cut.
  double move() {
    double longest = 0;
    for (std::size_t k = 0; k < kShape; ++k) {
      const double step = std::clamp(fit_.parameters[k], -kLongestMove_ln, kLongestMove_ln);
      shape_[k] += step;
      longest = std::max(longest, std::abs(step));
    }
    for (std::size_t j = 0; j < dwells_.size(); ++j) {
      start_k_[j] = std::clamp(start_k_[j] + fit_.parameters[start_column(j)], -60.0, 60.0);
      longest = std::max(longest, 0.01 * std::abs(fit_.parameters[start_column(j)]));
    }
    return longest;
  }

  [[nodiscard]] double u_of(std::size_t column) const {
    const double inflation = std::max(1.0, fit_.chi_square / fit_.degrees_of_freedom);
    return std::sqrt(inflation) * fit_.u_of(column);
  }

  [[nodiscard]] ReceiverLearnt learnt() const {
    ReceiverLearnt learnt;
    learnt.receiver = shaped(shape_);
    learnt.receiver.u_conductance_rel = std::max(kLeast_u_rel, u_of(0));
    learnt.receiver.u_wall_rel = std::max(kLeast_u_wall_rel, std::hypot(u_of(1), u_of(2)));
    learnt.receiver.u_evaporation_rel = std::max(kLeast_u_evaporation_rel, u_of(3));
    const auto& thermal = dwells_.front().survey->context->model.thermal;
    learnt.inlet_head_share = thermal.inlet_gas_head_share + shape_[4] * u_head_share();
    learnt.u_inlet_head_share = u_of(4) * u_head_share();
    learnt.inlet_discharge_share =
        thermal.inlet_gas_discharge_share + shape_[6] * u_discharge_share();
    learnt.u_inlet_discharge_share = u_of(6) * u_discharge_share();
    learnt.leak_m3_s_pa2 = fit_.parameters[leak_column()] * kLeakUnit;
    learnt.u_leak_m3_s_pa2 = u_of(leak_column()) * kLeakUnit;
    for (std::size_t j = 0; j < dwells_.size(); ++j) {
      learnt.start_k.push_back(start_k_[j]);
      learnt.u_start_k.push_back(u_of(start_column(j)));
    }
    learnt.chi_square = fit_.chi_square;
    learnt.degrees_of_freedom = fit_.degrees_of_freedom;
    return learnt;
  }

  static constexpr double kLeakUnit = 1e-20;  // m3/s per Pa^2: keeps the columns alike
  std::vector<Dwell> dwells_;
  const std::size_t index_;
  const Learn what_;
  const Receiver guess_;
  Shape shape_{};
  std::vector<double> start_k_;
  LinearFit fit_;
  GasHistory history_;
};

}  // namespace

Outcome<ReceiverLearnt> learn_receiver(std::span<const Survey* const> tests, std::size_t receiver,
                                       Learn what) {
  std::vector<Dwell> dwells;
  for (const Survey* survey : tests) {
    if (!survey->back_leak) return survey->back_leak.error();
    if (survey->back_leak->receiver != receiver)
      return Refusal{RefusalKind::missing_step, "the dwell was on another receiver", {}};
    Dwell dwell{survey, fine_blocks(*survey, *survey->back_leak), {}};
    dwell.lost = lost_per_leak(dwell, survey->context->bench.receivers[receiver]);
    dwells.push_back(std::move(dwell));
  }
  if (dwells.empty()) return Refusal{RefusalKind::missing_step, "no dwell was given", {}};
  return Learner(std::move(dwells), receiver, what).run();
}

}  // namespace endgate::analysis

#include "analysis/pressure_decay.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/least_squares.h"
#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr int kMostBlocks = 40;
constexpr std::size_t kFewestBlocks = 8;
constexpr int kSearchSteps = 20;    // to either side of tau_0
constexpr double kSearchWidth = 3;  // in units of u_ln

double mean_gauge(const std::vector<DecayBlock>& blocks) {
  return sum_over(blocks.size(), [&](std::size_t i) { return blocks[i].pressure_pa; }) /
         static_cast<double>(blocks.size());
}

// The integral of rate(gauge pressure) from the first block to every block.
template <class Rate>
std::vector<double> elapsed(const std::vector<DecayBlock>& blocks, const Rate& rate) {
  std::vector<double> total(blocks.size(), 0);
  for (std::size_t i = 1; i < blocks.size(); ++i) {
    const double average = (rate(blocks[i - 1].pressure_pa) + rate(blocks[i].pressure_pa)) / 2;
    total[i] = total[i - 1] + (blocks[i].time_s - blocks[i - 1].time_s) * average;
  }
  return total;
}

// g and tau s of (1) at every block.
struct Clocks {
  std::vector<double> leak_s;
  std::vector<double> heat_s;
};

Clocks clocks_of(const std::vector<DecayBlock>& blocks, const DecayModel& model) {
  const double outside = model.outside_abs_pa;
  const double mean = mean_gauge(blocks);
  const double at_mean = laminar_driving_pa2(mean, outside);
  const auto heat_rate = [&](double gauge) {
    const double ratio = std::max(0.0, (gauge + outside) / (mean + outside));
    return std::pow(ratio, model.conductance_exponent);
  };
  return {
      elapsed(blocks, [&](double gauge) { return laminar_driving_pa2(gauge, outside) / at_mean; }),
      elapsed(blocks, heat_rate)};
}

LinearSystem system_of(const std::vector<DecayBlock>& blocks, const Clocks& clocks,
                       const DecayModel& model) {
  LinearSystem system(3);
  for (std::size_t i = 0; i < blocks.size(); ++i) {
    // B is the excess at the start of the window, before the first block.
    const double warm = std::exp(-(blocks.front().time_s + clocks.heat_s[i]) / model.cooling_s);
    system.add(std::array{1.0, -clocks.leak_s[i], warm}, {blocks[i].pressure_pa, blocks[i].u_pa});
  }
  system.add(std::array{0.0, 0.0, 1.0}, {model.warm_start_pa, model.u_warm_start_pa});
  return system;
}

std::optional<Refusal> refusal_of(const std::vector<DecayBlock>& blocks, const DecayModel& model) {
  if (blocks.size() < kFewestBlocks)
    return Refusal{RefusalKind::too_few_points, "too few samples after the valve was shut", {}};
  if (!(mean_gauge(blocks) > 0) || !(model.outside_abs_pa > 0))
    return Refusal{RefusalKind::value_out_of_domain, "no pressure was left to leak", {}};
  if (!(model.cooling_s > 0) || !(model.u_warm_start_pa > 0))
    return Refusal{RefusalKind::value_out_of_domain, "the volume has no known cooling time", {}};
  return std::nullopt;
}

double inflation_of(double chi_square, std::size_t blocks) {
  return std::max(1.0, chi_square / static_cast<double>(blocks - 2));
}

Decay decay_of(const LinearFit& fit, const DecayModel& model, std::size_t blocks) {
  Decay decay;
  decay.loss_pa_s = fit.parameters[1];
  decay.chi_square = fit.chi_square;
  const double prior_variance = model.u_warm_start_pa * model.u_warm_start_pa;
  decay.per_warm_start_s = fit.covariance_of(1, 2) / prior_variance;
  const double from_prior = decay.per_warm_start_s * decay.per_warm_start_s * prior_variance;
  const double variance = std::max(0.0, fit.covariance_of(1, 1) - from_prior);
  decay.u_random_pa_s = std::sqrt(inflation_of(fit.chi_square, blocks) * variance);
  return decay;
}

// chi2 with the penalty of the prior over ln(tau/tau_0), on an even grid.
std::vector<double> cost_over_log(const std::vector<DecayBlock>& blocks, DecayModel model,
                                  double u_ln) {
  const double first = model.cooling_s;
  const Clocks clocks = clocks_of(blocks, model);
  std::vector<double> cost;
  for (int k = -kSearchSteps; k <= kSearchSteps; ++k) {
    const double sigmas = kSearchWidth * k / kSearchSteps;
    model.cooling_s = first * std::exp(sigmas * u_ln);
    const Outcome<LinearFit> fit = solve_least_squares(system_of(blocks, clocks, model));
    cost.push_back(fit ? fit->chi_square + sigmas * sigmas : 1e300);
  }
  return cost;
}

}  // namespace

std::vector<DecayBlock> decay_blocks(const Column& gauge, const Window& window,
                                     const SampleNoise& noise) {
  std::vector<DecayBlock> blocks;
  const double shortest =
      std::max({3 * noise.correlation_s, window.length_s() / kMostBlocks, 1e-3});
  const int count = std::max(1, static_cast<int>(std::min(1e3, window.length_s() / shortest)));
  const double length = window.length_s() / count;
  for (int k = 0; k < count; ++k) {
    const double start = window.start_s + k * length;
    const Window block{start, start + length};
    if (inside(gauge.time_s, block).count() < 3) continue;
    const std::optional<Moments> moments = moments_in(gauge, block, noise, 0);
    if (!moments || !(moments->u_mean > 0)) continue;
    blocks.push_back({block.middle_s() - window.start_s, moments->mean, moments->u_mean});
  }
  return blocks;
}

Outcome<Decay> fit_decay(const std::vector<DecayBlock>& blocks, const DecayModel& model) {
  if (const auto refusal = refusal_of(blocks, model)) return *refusal;
  const Outcome<LinearFit> fit =
      solve_least_squares(system_of(blocks, clocks_of(blocks, model), model));
  if (!fit) return fit.error();
  Decay decay = decay_of(*fit, model, blocks.size());
  decay.mean_abs_pa = mean_gauge(blocks) + model.outside_abs_pa;
  return decay;
}

Outcome<CoolingTime> find_cooling_time(const std::vector<DecayBlock>& blocks,
                                       const DecayModel& model, double u_ln) {
  if (const auto refusal = refusal_of(blocks, model)) return *refusal;
  const std::vector<double> cost = cost_over_log(blocks, model, u_ln);
  const auto least = std::min_element(cost.begin() + 1, cost.end() - 1);
  const double before = *(least - 1);
  const double after = *(least + 1);
  const double bend = before - 2 * *least + after;  // second difference
  const double step = kSearchWidth * u_ln / kSearchSteps;
  const double index = static_cast<double>(least - cost.begin()) - kSearchSteps;
  const double offset = bend > 0 ? std::clamp((before - after) / (2 * bend), -1.0, 1.0) : 0;
  const double u = bend > 0 ? step * std::sqrt(2 / bend) : u_ln;
  const double chi_square = std::min(*least, 1e12);
  return CoolingTime{model.cooling_s * std::exp((index + offset) * step),
                     std::min(u_ln, u * std::sqrt(inflation_of(chi_square, blocks.size())))};
}

}  // namespace endgate::analysis

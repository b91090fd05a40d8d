#include "analysis/pressure_decay.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/least_squares.h"
#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr int kMostBlocks = 40;
constexpr std::size_t kFewestBlocks = 6;

double mean_gauge(const std::vector<DecayBlock>& blocks) {
  return sum_over(blocks.size(), [&](std::size_t i) { return blocks[i].pressure_pa; }) /
         static_cast<double>(blocks.size());
}

// p^2 - p_a^2 from gauge pressure, without the cancellation.
double driving(double gauge_pa, double outside_abs_pa) {
  return gauge_pa * (gauge_pa + 2 * outside_abs_pa);
}

// g(t) at every block, 0 at the first.
std::vector<double> leak_time(const std::vector<DecayBlock>& blocks, double outside_abs_pa) {
  const double at_mean = driving(mean_gauge(blocks), outside_abs_pa);
  std::vector<double> elapsed(blocks.size(), 0);
  for (std::size_t i = 1; i < blocks.size(); ++i) {
    const double average = (driving(blocks[i - 1].pressure_pa, outside_abs_pa) +
                            driving(blocks[i].pressure_pa, outside_abs_pa)) /
                           2;
    elapsed[i] = elapsed[i - 1] + (blocks[i].time_s - blocks[i - 1].time_s) * average / at_mean;
  }
  return elapsed;
}

LinearSystem system_of(const std::vector<DecayBlock>& blocks, const DecayModel& model) {
  const bool cools = model.cooling_s > 0 && model.u_warm_start_pa > 0;
  const std::vector<double> elapsed = leak_time(blocks, model.outside_abs_pa);
  LinearSystem system(cools ? 3 : 2);
  for (std::size_t i = 0; i < blocks.size(); ++i) {
    const Observation observation{blocks[i].pressure_pa, blocks[i].u_pa};
    const double warm = cools ? std::exp(-blocks[i].time_s / model.cooling_s) : 0;
    if (cools)
      system.add(std::array{1.0, -elapsed[i], warm}, observation);
    else
      system.add(std::array{1.0, -elapsed[i]}, observation);
  }
  if (cools) system.add(std::array{0.0, 0.0, 1.0}, {model.warm_start_pa, model.u_warm_start_pa});
  return system;
}

Decay decay_of(const LinearFit& fit, const DecayModel& model) {
  Decay decay;
  decay.loss_pa_s = fit.parameters[1];
  double variance = fit.covariance_of(1, 1);
  if (fit.parameters.size() == 3) {
    const double prior_variance = model.u_warm_start_pa * model.u_warm_start_pa;
    decay.per_warm_start_s = fit.covariance_of(1, 2) / prior_variance;
    variance -= decay.per_warm_start_s * decay.per_warm_start_s * prior_variance;
  }
  decay.u_random_pa_s = std::sqrt(std::max(0.0, variance));
  return decay;
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
  if (blocks.size() < kFewestBlocks)
    return Refusal{RefusalKind::too_few_points, "too few samples after the valve was shut", {}};
  const double gauge = mean_gauge(blocks);
  if (!(gauge > 0) || !(model.outside_abs_pa > 0))
    return Refusal{RefusalKind::value_out_of_domain, "no pressure was left to leak", {}};
  const Outcome<LinearFit> fit = solve_least_squares(system_of(blocks, model));
  if (!fit) return fit.error();
  Decay decay = decay_of(*fit, model);
  decay.mean_abs_pa = gauge + model.outside_abs_pa;
  return decay;
}

}  // namespace endgate::analysis

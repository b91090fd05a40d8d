#include "analysis/statistics/control_limits.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "analysis/statistics/distribution.h"
#include "analysis/sum.h"

namespace endgate::statistics {
namespace {

using analysis::sum_over;
using Batches = std::span<const BatchMoments>;

constexpr double kInsideThree = 0.99865010196836990;  // of a normal form below 3

double pooled_variance(Batches batches) {
  const double degrees = sum_over(batches.size(), [&](std::size_t i) { return batches[i].n - 1; });
  const double squares = sum_over(batches.size(), [&](std::size_t i) {
    return (batches[i].n - 1) * batches[i].sigma * batches[i].sigma;
  });
  return degrees > 0 ? squares / degrees : -1;
}

double weighted_mean(Batches batches, double between, double inside) {
  const auto weight = [&](std::size_t i) { return 1 / (between + inside / batches[i].n); };
  const double all = sum_over(batches.size(), weight);
  return sum_over(batches.size(), [&](std::size_t i) { return weight(i) * batches[i].mean; }) / all;
}

double between_variance(Batches batches, double inside) {
  const double m = static_cast<double>(batches.size());
  const double all = sum_over(batches.size(), [&](std::size_t i) { return batches[i].n; });
  const double mean =
      sum_over(batches.size(), [&](std::size_t i) { return batches[i].n * batches[i].mean; }) / all;
  const double squares = sum_over(batches.size(), [&](std::size_t i) {
    return batches[i].n * std::pow(batches[i].mean - mean, 2);
  });
  const double sizes =
      sum_over(batches.size(), [&](std::size_t i) { return batches[i].n * batches[i].n; });
  const double n0 = (all - sizes / all) / (m - 1);
  return std::max(0.0, (squares / (m - 1) - inside) / n0);
}

// In their own standard deviations, so that small batches do not rule.
std::vector<double> distances(Batches batches, const ControlLimits& limits) {
  std::vector<double> z;
  for (const BatchMoments& batch : batches)
    z.push_back((batch.mean - limits.centre) / limits.sigma_of_mean(batch.n));
  return z;
}

// Middles of `cells` parts of equal chance.
double middle_of(int cell, int cells) { return (cell + 0.5) / cells; }

// Run lengths, rising, of processes that such limits may have been made from, all equally likely:
// the true standard deviation over the widened one that was found, and how far the true centre lies
// from the one found.  The rules are the same on both sides, so one side of the centre is enough.
std::vector<double> lengths_left_open(const ControlLimits& limits, const ControlRules& rules) {
  constexpr int kScales = 20, kCentres = 10;
  constexpr std::size_t kPoints = 20'000;
  const double degrees = limits.batches - 1;
  const double alike = (1 + limits.likeness) / (1 - limits.likeness);  // neighbours tell less
  const double u_centre = std::sqrt(alike / limits.batches);
  std::vector<double> lengths;
  for (int i = 0; i < kScales; ++i) {
    const double found = chi_square_quantile(middle_of(i, kScales), degrees) / degrees;
    const double scale = 1 / (limits.widening * std::sqrt(found));
    for (int j = 0; j < kCentres; ++j) {
      const double off = u_centre * normal_quantile(0.5 + 0.5 * middle_of(j, kCentres));
      lengths.push_back(run_length_together({.rules = rules,
                                             .likeness = limits.likeness,
                                             .scale = scale,
                                             .shift = scale * off,
                                             .points = kPoints}));
    }
  }
  std::ranges::sort(lengths);
  return lengths;
}

}  // namespace

double ControlLimits::sigma_of_mean(double n) const {
  return widening * std::sqrt(sigma_between * sigma_between + sigma_inside * sigma_inside / n);
}

double widening_of(double batches) {
  return t_quantile(kInsideThree, batches - 1) * std::sqrt(1 + 1 / batches) / 3;
}

double likeness_of_neighbours(std::span<const double> z) {
  if (z.size() < 2) return 0;
  const double alone = sum_over(z.size(), [&](std::size_t i) { return z[i] * z[i]; });
  const double together = sum_over(z.size() - 1, [&](std::size_t i) { return z[i] * z[i + 1]; });
  const double r = alone > 0 ? together / alone : 0;
  return r > 2 / std::sqrt(static_cast<double>(z.size())) ? std::min(r, 0.95) : 0;
}

std::optional<ControlLimits> control_limits_of(Batches batches) {
  if (batches.size() < 2) return std::nullopt;
  const double inside = pooled_variance(batches);
  if (!(inside >= 0)) return std::nullopt;
  const double between = between_variance(batches, inside);
  if (!(inside + between > 0)) return std::nullopt;
  ControlLimits limits{.centre = weighted_mean(batches, between, inside),
                       .sigma_between = std::sqrt(between),
                       .sigma_inside = std::sqrt(inside),
                       .batches = static_cast<double>(batches.size())};
  limits.widening = widening_of(limits.batches);
  limits.likeness = likeness_of_neighbours(distances(batches, limits));
  return limits;
}

PromisedRunLength promised_run_length(const ControlLimits& limits, const ControlRules& rules) {
  const double expected = run_length_together({.rules = rules, .likeness = limits.likeness});
  if (!(limits.batches > 1)) return {expected, expected, expected};
  const std::vector<double> lengths = lengths_left_open(limits, rules);
  const auto place = [&](double p) {
    return static_cast<std::size_t>(p * static_cast<double>(lengths.size()));
  };
  return {expected, lengths[place(0.05)], lengths[place(0.95)]};
}

}  // namespace endgate::statistics

#include "analysis/statistics/paired_difference.h"

#include <cmath>
#include <vector>

#include "analysis/statistics/distribution.h"
#include "analysis/statistics/scatter.h"
#include "analysis/sum.h"

namespace endgate::statistics {
namespace {

constexpr double kSingle = 1.959963984540054;

void add_slope(PairedDifference& found, std::span<const OnBoth> units,
               const std::vector<double>& differences) {
  std::vector<double> levels;
  for (const OnBoth& unit : units) levels.push_back((unit.first + unit.second) / 2);
  const double n = static_cast<double>(units.size());
  const double level = analysis::mean_of(levels).value();
  const auto off = [&](std::size_t i) { return levels[i] - level; };
  const double spread =
      analysis::sum_over(units.size(), [&](std::size_t i) { return off(i) * off(i); });
  if (!(spread > 0)) return;
  found.slope =
      analysis::sum_over(units.size(), [&](std::size_t i) { return off(i) * differences[i]; }) /
      spread;
  const double squares = analysis::sum_over(units.size(), [&](std::size_t i) {
    return std::pow(differences[i] - found.mean - found.slope * off(i), 2);
  });
  if (squares > 0)
    found.slope_p = t_two_sided(found.slope / std::sqrt(squares / (n - 2) / spread), n - 2);
}

// The larger of both one-sided p-values.
double unlike(const PairedDifference& found, double allowed) {
  const double n = found.n;
  const double t = (allowed - std::abs(found.mean)) / (found.sigma / std::sqrt(n));
  const double beyond = t_two_sided(t, n - 1) / 2;
  return t > 0 ? beyond : 1 - beyond;
}

}  // namespace

analysis::Outcome<PairedDifference> paired_difference(std::span<const OnBoth> units,
                                                      std::optional<double> allowed) {
  using analysis::Refusal, analysis::RefusalKind;
  if (units.size() < 3)
    return Refusal{RefusalKind::too_few_points, "fewer than three units were on both",
                   std::nullopt};
  std::vector<double> differences;
  for (const OnBoth& unit : units) differences.push_back(unit.second - unit.first);
  const Scatter scatter = scatter_of(differences);
  if (!(*scatter.sigma > 0))
    return Refusal{RefusalKind::singular, "the differences do not scatter", std::nullopt};
  PairedDifference found{
      .n = static_cast<int>(units.size()), .mean = *scatter.mean, .sigma = *scatter.sigma};
  const double n = found.n;
  const double half = t_quantile(0.975, n - 1) * found.sigma / std::sqrt(n);
  found.mean_95 = {found.mean - half, found.mean + half};
  found.single_95 = {found.mean - kSingle * found.sigma, found.mean + kSingle * found.sigma};
  add_slope(found, units, differences);
  if (allowed) found.unlike_p = unlike(found, *allowed);
  return found;
}

}  // namespace endgate::statistics

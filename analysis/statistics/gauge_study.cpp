#include "analysis/statistics/gauge_study.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "analysis/statistics/distribution.h"
#include "analysis/sum.h"

namespace endgate::statistics {
namespace {

using analysis::Refusal;
using analysis::RefusalKind;

struct Means {
  std::map<int, analysis::Sum> units{}, benches{};
  std::map<std::pair<int, int>, std::pair<int, analysis::Sum>> cells{};
  analysis::Sum all{};
};

Means means_of(const std::vector<StudyReading>& readings) {
  Means m;
  for (const StudyReading& r : readings) {
    m.units[r.unit].add(r.value);
    m.benches[r.bench].add(r.value);
    auto& [count, sum] = m.cells[{r.unit, r.bench}];
    ++count;
    sum.add(r.value);
    m.all.add(r.value);
  }
  return m;
}

// Sum of squares of the sums' means about the grand mean, `each` readings behind a mean.
template <class Sums>
double between(const Sums& sums, double each, double grand) {
  double squares = 0;
  for (const auto& [level, sum] : sums) squares += each * std::pow(sum.value() / each - grand, 2);
  return squares;
}

double root_or_zero(double variance, GaugeStudy& study) {
  if (variance < 0) study.negative = true;
  return std::sqrt(std::max(0.0, variance));
}

}  // namespace

analysis::Outcome<GaugeStudy> gauge_study(const std::vector<StudyReading>& readings,
                                          double pool_above) {
  const Means m = means_of(readings);
  const double p = static_cast<double>(m.units.size()), o = static_cast<double>(m.benches.size());
  const double n = static_cast<double>(readings.size()), r = n / std::max(1.0, p * o);
  if (p < 2 || o < 2 || r < 2)
    return Refusal{RefusalKind::too_few_points,
                   "a study needs two units, two benches and two repeats", std::nullopt};
  double repeat = 0;
  for (const StudyReading& reading : readings) {
    const auto& [count, sum] = m.cells.at({reading.unit, reading.bench});
    if (count != static_cast<int>(r))
      return Refusal{RefusalKind::value_out_of_domain,
                     "each unit needs the same number of readings on each bench", std::nullopt};
    repeat += std::pow(reading.value - sum.value() / r, 2);
  }
  const double grand = m.all.value() / n;
  double cells = 0;
  for (const auto& [at, cell] : m.cells) cells += r * std::pow(cell.second.value() / r - grand, 2);
  const double units = between(m.units, o * r, grand), benches = between(m.benches, p * r, grand);
  const double crossed = cells - units - benches, crossed_free = (p - 1) * (o - 1);
  const double repeat_free = p * o * (r - 1);
  GaugeStudy study;
  study.interaction_p =
      f_above((crossed / crossed_free) / (repeat / repeat_free), crossed_free, repeat_free);
  study.pooled = study.interaction_p > pool_above;
  const double inside =
      study.pooled ? (repeat + crossed) / (repeat_free + crossed_free) : repeat / repeat_free;
  const double against = study.pooled ? inside : crossed / crossed_free;
  study.repeat = std::sqrt(inside);
  if (!study.pooled) study.interaction = root_or_zero((against - inside) / r, study);
  study.bench = root_or_zero((benches / (o - 1) - against) / (p * r), study);
  study.unit = root_or_zero((units / (p - 1) - against) / (o * r), study);
  study.bench_known = o > 2;
  study.measurement = std::hypot(study.repeat, study.bench, study.interaction);
  study.total = std::hypot(study.measurement, study.unit);
  study.categories = study.measurement > 0 ? 1.41 * study.unit / study.measurement : 0;
  return study;
}

TypeOneStudy type_one_study(const std::vector<double>& values, double known, double limit_width) {
  const double mean = analysis::mean_of(values).value_or(0);
  const double squares = analysis::sum_over(
      values.size(), [&](std::size_t i) { return (values[i] - mean) * (values[i] - mean); });
  TypeOneStudy study{.bias = mean - known};
  study.sigma = std::sqrt(squares / std::max(1.0, static_cast<double>(values.size()) - 1));
  study.cg = 0.2 * limit_width / (6 * study.sigma);
  study.cgk = (0.1 * limit_width - std::abs(study.bias)) / (3 * study.sigma);
  return study;
}

}  // namespace endgate::statistics

#include "analysis/statistics/gauge_study.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <random>

#include "analysis/statistics/capability.h"
#include "analysis/statistics/distribution.h"
#include "analysis/statistics/scatter.h"
#include "analysis/sum.h"

namespace endgate::statistics {
namespace {

using analysis::Refusal;
using analysis::RefusalKind;

constexpr int kDraws = 10000;
constexpr std::uint64_t kDrawSeed = 20261126;
constexpr double kTail = 0.025;  // of a 95 % interval, each side

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
  return analysis::sum_over(sums.size(), [&, at = sums.begin()](std::size_t) mutable {
    return each * std::pow((at++)->second.value() / each - grand, 2);
  });
}

struct MeanSquare {
  double value = 0, freedom = 1;
};

// p units on o benches, r times.
struct StudyTable {
  double p = 0, o = 0, r = 0;
  bool pooled = false;
  MeanSquare unit{}, bench{}, crossed{}, repeat{};  // pooled: `crossed` is `repeat`
};

double squares_of_repeats(const std::vector<StudyReading>& readings, const Means& m, double r) {
  return analysis::sum_over(readings.size(), [&](std::size_t i) {
    const StudyReading& reading = readings[i];
    const double mean = m.cells.at({reading.unit, reading.bench}).second.value() / r;
    return (reading.value - mean) * (reading.value - mean);
  });
}

StudyTable table_of(const std::vector<StudyReading>& readings, const Means& m) {
  StudyTable t{.p = static_cast<double>(m.units.size()),
               .o = static_cast<double>(m.benches.size())};
  const double n = static_cast<double>(readings.size());
  t.r = n / (t.p * t.o);
  const double grand = m.all.value() / n;
  analysis::Sum cells;
  for (const auto& [at, cell] : m.cells)
    cells.add(t.r * std::pow(cell.second.value() / t.r - grand, 2));
  const double units = between(m.units, t.o * t.r, grand);
  const double benches = between(m.benches, t.p * t.r, grand);
  const double crossed_free = (t.p - 1) * (t.o - 1), repeat_free = t.p * t.o * (t.r - 1);
  t.unit = {units / (t.p - 1), t.p - 1};
  t.bench = {benches / (t.o - 1), t.o - 1};
  t.crossed = {std::max(0.0, cells.value() - units - benches) / crossed_free, crossed_free};
  t.repeat = {squares_of_repeats(readings, m, t.r) / repeat_free, repeat_free};
  return t;
}

void pool(StudyTable& t) {
  const double freedom = t.repeat.freedom + t.crossed.freedom;
  t.repeat = {(t.repeat.value * t.repeat.freedom + t.crossed.value * t.crossed.freedom) / freedom,
              freedom};
  t.crossed = t.repeat;
  t.pooled = true;
}

// In this order everywhere below.
enum Which { kRepeat, kBench, kInteraction, kMeasurement, kUnit, kTotal, kParts };
using Variances = std::array<double, kParts>;

// Those that come out below 0 stay so: the caller decides.
Variances raw_variances(const StudyTable& t) {
  Variances v{};
  v[kRepeat] = t.repeat.value;
  v[kBench] = (t.bench.value - t.crossed.value) / (t.p * t.r);
  v[kInteraction] = t.pooled ? 0 : (t.crossed.value - t.repeat.value) / t.r;
  v[kUnit] = (t.unit.value - t.crossed.value) / (t.o * t.r);
  return v;
}

Variances variances_of(const StudyTable& t) {
  Variances v = raw_variances(t);
  for (double& variance : v) variance = std::max(0.0, variance);
  v[kMeasurement] = v[kRepeat] + v[kBench] + v[kInteraction];
  v[kTotal] = v[kMeasurement] + v[kUnit];
  return v;
}

class TableDraws {
 public:
  explicit TableDraws(const StudyTable& table) : table_(table) {}
  StudyTable next() {
    StudyTable drawn = table_;
    for (MeanSquare* square : {&drawn.unit, &drawn.bench, &drawn.repeat, &drawn.crossed})
      square->value *= square->freedom / chi_square(square->freedom);
    if (drawn.pooled) drawn.crossed = drawn.repeat;
    return drawn;
  }

 private:
  double chi_square(double freedom) {
    return std::chi_squared_distribution<double>(freedom)(random_);
  }
  StudyTable table_;
  std::mt19937_64 random_{kDrawSeed};
};

Interval middle_95(std::vector<double>& drawn) {
  std::ranges::sort(drawn);
  return {sample_quantile(drawn, kTail), sample_quantile(drawn, 1 - kTail)};
}

std::array<StudyPart, kParts> parts_of(const StudyTable& table) {
  std::array<std::vector<double>, kParts> sigmas, shares;
  TableDraws draws(table);
  for (int i = 0; i < kDraws; ++i) {
    const Variances v = variances_of(draws.next());
    for (std::size_t part = 0; part < kParts; ++part) {
      sigmas[part].push_back(std::sqrt(v[part]));
      shares[part].push_back(v[part] / v[kTotal]);
    }
  }
  const Variances v = variances_of(table);
  std::array<StudyPart, kParts> parts;
  for (std::size_t part = 0; part < kParts; ++part)
    parts[part] = {.sigma = std::sqrt(v[part]),
                   .sigma_95 = middle_95(sigmas[part]),
                   .share = v[part] / v[kTotal],
                   .share_95 = middle_95(shares[part])};
  return parts;
}

std::optional<Refusal> wrong_with_study(const std::vector<StudyReading>& readings, const Means& m) {
  const std::size_t cells = m.units.size() * m.benches.size();
  if (m.units.size() < 2 || m.benches.size() < 2 || readings.size() < 2 * cells)
    return Refusal{RefusalKind::too_few_points,
                   "a study needs two units, two benches and two repeats", std::nullopt};
  const auto uneven = [&](const auto& cell) {
    return static_cast<std::size_t>(cell.second.first) * cells != readings.size();
  };
  if (m.cells.size() != cells || std::ranges::any_of(m.cells, uneven))
    return Refusal{RefusalKind::value_out_of_domain,
                   "each unit needs the same number of readings on each bench", std::nullopt};
  return std::nullopt;
}

Interval sigma_interval(double sigma, double freedom) {
  return {sigma * std::sqrt(freedom / chi_square_quantile(1 - kTail, freedom)),
          sigma * std::sqrt(freedom / chi_square_quantile(kTail, freedom))};
}

}  // namespace

analysis::Outcome<GaugeStudy> gauge_study(const std::vector<StudyReading>& readings,
                                          double pool_above) {
  const Means m = means_of(readings);
  if (auto wrong = wrong_with_study(readings, m)) return *wrong;
  StudyTable table = table_of(readings, m);
  if (!(table.repeat.value > 0))
    return Refusal{RefusalKind::singular, "repeats do not differ at all", std::nullopt};
  GaugeStudy study{.units = static_cast<int>(table.p),
                   .benches = static_cast<int>(table.o),
                   .repeats = static_cast<int>(table.r)};
  study.interaction_p = f_above(table.crossed.value / table.repeat.value, table.crossed.freedom,
                                table.repeat.freedom);
  if (study.interaction_p > pool_above) pool(table);
  study.pooled = table.pooled;
  study.negative =
      std::ranges::any_of(raw_variances(table), [](double variance) { return variance < 0; });
  study.bench_known = table.o > 2;
  const auto parts = parts_of(table);
  study.repeat = parts[kRepeat], study.bench = parts[kBench], study.unit = parts[kUnit];
  study.interaction = parts[kInteraction], study.measurement = parts[kMeasurement];
  study.total = parts[kTotal];
  study.categories = 1.41 * study.unit.sigma / study.measurement.sigma;
  return study;
}

analysis::Outcome<TypeOneStudy> type_one_study(std::span<const double> values,
                                               const KnownValue& known,
                                               std::optional<double> limit_width) {
  const Scatter scatter = scatter_of(values);
  if (scatter.n < 2)
    return Refusal{RefusalKind::too_few_points, "a study of one unit needs two tests",
                   std::nullopt};
  if (!(*scatter.sigma > 0))
    return Refusal{RefusalKind::singular, "repeats do not differ at all", std::nullopt};
  const double n = static_cast<double>(scatter.n), variance = std::pow(*scatter.sigma, 2) / n;
  const double u_squared = variance + known.u * known.u;
  const double freedom = (n - 1) * std::pow(u_squared / variance, 2);
  TypeOneStudy study{.n = static_cast<int>(scatter.n),
                     .bias = *scatter.mean - known.value,
                     .sigma = *scatter.sigma};
  const double half = t_quantile(1 - kTail, freedom) * std::sqrt(u_squared);
  study.bias_95 = {study.bias - half, study.bias + half};
  study.sigma_95 = sigma_interval(study.sigma, n - 1);
  if (!limit_width) return study;
  study.cg = 0.2 * *limit_width / (6 * study.sigma);
  study.cgk = (0.1 * *limit_width - std::abs(study.bias)) / (3 * study.sigma);
  return study;
}

}  // namespace endgate::statistics

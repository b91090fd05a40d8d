#include "analysis/statistics/product_or_bench.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <map>
#include <tuple>

#include "analysis/statistics/cells.h"
#include "analysis/statistics/distribution.h"
#include "analysis/sum.h"

namespace endgate::statistics {
namespace {

constexpr std::size_t kLeast = 6;  // batches
constexpr std::size_t kEdgeBatches = 3;
constexpr double kSure = 3.5;        // in u: the surest of many splits was taken
constexpr double kLeastTold = 2;     // in u, of the change that is told
constexpr double kToldApart = 0.85;  // below: open
constexpr double kUnknown = 1e4;     // variance of what is not known beforehand, in units

// One observation, or one wish: which parts it holds, with which weight.
struct Seen {
  int batch = 0;
  int bench = -1, unit = -1;
  double product = 0, drift = 0, constant = 0;  // weights
  double value = 0, variance = 0;
};

struct Sizes {
  double product_walk = 0, product_batch = 0, bench_walk = 0;
};

double covariance(const Seen& a, const Seen& b, const Sizes& s) {
  const double common = std::min(a.batch, b.batch);
  double sum = a.product * b.product * s.product_walk * common;
  if (a.batch == b.batch) sum += a.product * b.product * s.product_batch;
  if (a.bench == b.bench) sum += a.drift * b.drift * s.bench_walk * common;
  const double both = a.constant * b.constant * kUnknown;
  if (a.product != 0 && b.product != 0) sum += both;  // the level
  if (a.bench == b.bench) sum += both;
  if (a.unit >= 0 && a.unit == b.unit) sum += both;
  return sum;
}

using GoOn = std::function<void()>;

class Walks {
 public:
  Walks(std::vector<Seen> seen, GoOn go_on) : seen_(std::move(seen)), go_on_(std::move(go_on)) {
    choose_sizes();
  }

  // A contrast: weights on product and drifts at batches.
  struct Wish {
    std::vector<Seen> parts{};
  };
  struct Known {
    double value = 0, variance = 0;
  };
  [[nodiscard]] Known known(const Wish& wish) const {
    go_on_();
    const Eigen::VectorXd c = towards(wish);
    double before = 0;
    for (const Seen& a : wish.parts)
      for (const Seen& b : wish.parts) before += covariance(a, b, sizes_);
    return {c.dot(solved_), std::max(0.0, before - c.dot(factor_.solve(c)))};
  }

  using Share = std::function<double(const Seen&)>;

  // Least squares of `share(seen)` times an unknown size, about which nothing is assumed: a walk
  // that is steady for most benches would hold back the jump of one.
  [[nodiscard]] Known size_of(const Share& share) const {
    go_on_();
    const Eigen::VectorXd x = column(share);
    const double weight = x.dot(factor_.solve(x));
    return {x.dot(solved_) / weight, 1 / weight};
  }

  // The walks that are left beside such a change; else they would have to explain it.
  [[nodiscard]] Walks beside(const Share& share) const {
    Walks rest = *this;
    rest.change_ = column(share);
    rest.choose_sizes();
    return rest;
  }

 private:
  [[nodiscard]] Eigen::VectorXd column(const Share& share) const {
    Eigen::VectorXd x(static_cast<Eigen::Index>(seen_.size()));
    for (std::size_t i = 0; i < seen_.size(); ++i)
      x(static_cast<Eigen::Index>(i)) = share(seen_[i]);
    return x;
  }

  [[nodiscard]] Eigen::VectorXd towards(const Wish& wish) const {
    Eigen::VectorXd c = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(seen_.size()));
    for (std::size_t i = 0; i < seen_.size(); ++i)
      for (const Seen& part : wish.parts)
        c(static_cast<Eigen::Index>(i)) += covariance(seen_[i], part, sizes_);
    return c;
  }

  double likelihood(const Sizes& sizes) {
    go_on_();
    const auto n = static_cast<Eigen::Index>(seen_.size());
    Eigen::MatrixXd v(n, n);
    Eigen::VectorXd y(n);
    for (Eigen::Index i = 0; i < n; ++i) {
      const Seen& a = seen_[static_cast<std::size_t>(i)];
      y(i) = a.value;
      for (Eigen::Index j = 0; j <= i; ++j)
        v(j, i) = v(i, j) = covariance(a, seen_[static_cast<std::size_t>(j)], sizes);
      v(i, i) += a.variance;
    }
    factor_.compute(v);
    solved_ = factor_.solve(y);
    const Eigen::VectorXd diagonal = factor_.matrixLLT().diagonal();
    double squares = y.dot(solved_);
    if (change_.size() > 0)
      squares -= std::pow(change_.dot(solved_), 2) / change_.dot(factor_.solve(change_));
    return -0.5 * squares - diagonal.array().log().sum();
  }

  void choose_sizes() {
    double best = -std::numeric_limits<double>::infinity();
    Sizes chosen;
    for (const double product_walk : {0.0, 0.02, 0.2, 1.0})
      for (const double product_batch : {0.25, 1.0, 4.0, 16.0})
        for (const double bench_walk : {0.002, 0.02, 0.2, 1.0}) {
          const Sizes here{product_walk, product_batch, bench_walk};
          const double l = likelihood(here);
          if (l > best) best = l, chosen = here;
        }
    // A product that is called steady could not be told to have moved.
    chosen.product_walk = std::max(chosen.product_walk, 0.01);
    sizes_ = chosen;
    likelihood(chosen);
  }

  std::vector<Seen> seen_;
  GoOn go_on_;
  Sizes sizes_{};
  Eigen::LLT<Eigen::MatrixXd> factor_{};
  Eigen::VectorXd solved_{};
  Eigen::VectorXd change_{};  // empty: none
};

Seen product_at(int batch, double weight) { return {.batch = batch, .product = weight}; }
Seen drift_at(int bench, int batch, double weight) {
  return {.batch = batch, .bench = bench, .drift = weight};
}

using At = std::function<Seen(int batch, double weight)>;

// Mean of the last batches minus the mean before `since`.
Walks::Wish change_of(const At& at, int since, int batches, double sign = 1) {
  Walks::Wish wish;
  constexpr int kLast = static_cast<int>(kEdgeBatches);
  for (int g = 0; g < since; ++g) wish.parts.push_back(at(g, -sign / since));
  for (int g = batches - kLast; g < batches; ++g) wish.parts.push_back(at(g, sign / kLast));
  return wish;
}

Walks::Wish joined(Walks::Wish a, const Walks::Wish& b) {
  a.parts.insert(a.parts.end(), b.parts.begin(), b.parts.end());
  return a;
}

struct Scale {
  double about = 0, unit = 1;
  int first = 0;  // the first batch that is looked at
};

int level_of(std::vector<std::string>& names, const std::string& name) {
  const auto found = std::ranges::find(names, name);
  if (found == names.end()) names.push_back(name);
  return static_cast<int>(std::ranges::find(names, name) - names.begin());
}

// The first of as many of the newest batches as may be looked at.
std::size_t first_looked_at(const Cells& cells, const std::vector<ReferenceCheck>& joined,
                            std::size_t all) {
  std::vector<std::size_t> means(all, 0);
  for (const Cell& c : cells.cells) ++means[static_cast<std::size_t>(c.batch)];
  for (const ReferenceCheck& check : joined)
    if (check.batch < all) ++means[check.batch];
  std::size_t first = all, sum = 0;
  while (first > 0 && all - first < kMostBatches && sum + means[first - 1] <= kMostMeans)
    sum += means[--first];
  return first;
}

std::vector<Seen> seen_in(const Cells& cells, const std::vector<ReferenceCheck>& checks,
                          const Scale& scale, std::vector<std::string>& benches) {
  std::vector<Seen> seen;
  for (const Cell& c : cells.cells) {
    if (c.batch < scale.first) continue;
    const double sigma = cells.sigma_inside / scale.unit;
    seen.push_back({.batch = c.batch - scale.first,
                    .bench = c.bench,
                    .product = 1,
                    .drift = 1,
                    .constant = 1,
                    .value = (c.mean - scale.about) / scale.unit,
                    .variance = sigma * sigma / c.n});
  }
  std::vector<std::string> units;
  for (const ReferenceCheck& r : checks) {
    if (static_cast<int>(r.batch) < scale.first) continue;
    seen.push_back({.batch = static_cast<int>(r.batch) - scale.first,
                    .bench = level_of(benches, r.bench),
                    .unit = level_of(units, r.unit),
                    .drift = 1,
                    .constant = 1,
                    .value = (r.value - scale.about) / scale.unit,
                    .variance = std::pow(r.u / scale.unit, 2)});
  }
  return seen;
}

struct Best {
  double z = 0;
  int bench = -1, since = 0;
  Walks::Known change{};
};

// How far it has gone at a batch: 0 before `since`, then 1, or rising to 1 at the last batch.
struct Course {
  int since = 0, batches = 0;
  bool ramp = false;
  [[nodiscard]] double at(int batch) const {
    if (batch < since) return 0;
    return ramp ? (batch - since + 1.0) / (batches - since) : 1;
  }
  [[nodiscard]] double by_now() const {
    double sum = 0;
    for (int g = batches - static_cast<int>(kEdgeBatches); g < batches; ++g) sum += at(g);
    return sum / static_cast<double>(kEdgeBatches);
  }
};

// Of the product (-1) or a bench.
Walks::Share share_along(const Course& course, int bench) {
  return [course, bench](const Seen& seen) {
    const double part = bench < 0 ? seen.product : seen.bench == bench ? seen.drift : 0;
    return part * course.at(seen.batch);
  };
}

// Who changed: by the walks themselves.
Best surest(const Walks& walks, std::size_t benches, int batches) {
  Best best;
  for (int bench = -1; bench < static_cast<int>(benches); ++bench)
    for (int since = static_cast<int>(kEdgeBatches);
         since + static_cast<int>(kEdgeBatches) <= batches; ++since) {
      const At at = [bench](int g, double w) {
        return bench < 0 ? product_at(g, w) : drift_at(bench, g, w);
      };
      const Walks::Known change = walks.known(change_of(at, since, batches));
      const double z = std::abs(change.value) / std::sqrt(std::max(change.variance, 1e-12));
      if (z > best.z) best = {z, bench, since, change};
    }
  return best;
}

struct Dated {
  Course course{};
  Walks::Known change{};  // the mean of the last batches against before
};

Dated surest_course(const Walks& walks, int bench, int batches) {
  Dated best;
  double surest_z = 0;
  for (int since = static_cast<int>(kEdgeBatches);
       since + static_cast<int>(kEdgeBatches) <= batches; ++since)
    for (const bool ramp : {false, true}) {
      const Course course{since, batches, ramp};
      const Walks::Known size = walks.size_of(share_along(course, bench));
      const double z = std::abs(size.value) / std::sqrt(size.variance), last = course.by_now();
      if (!(z > surest_z)) continue;
      surest_z = z;
      best = {course, {size.value * last, size.variance * last * last}};
    }
  return best;
}

// Since when and by how much the one that changed did so.
Dated dated(const Walks& walks, int bench, int batches) {
  const Dated first = surest_course(walks, bench, batches);
  return surest_course(walks.beside(share_along(first.course, bench)), bench, batches);
}

// That the named side changed more, in the direction of the change, than its counterpart.
double probability_of(const Walks& walks, const Best& best, std::size_t benches, int batches) {
  const double sign = best.change.value > 0 ? 1 : -1;
  double least = 1;
  for (int bench = 0; bench < static_cast<int>(benches); ++bench) {
    if (best.bench >= 0 && bench != best.bench) continue;
    const At product = product_at;
    const At drift = [bench](int g, double w) { return drift_at(bench, g, w); };
    const At& named = best.bench < 0 ? product : drift;
    const At& other = best.bench < 0 ? drift : product;
    const Walks::Known more = walks.known(joined(change_of(named, best.since, batches, sign),
                                                 change_of(other, best.since, batches, -sign)));
    least = std::min(least, normal_below(more.value / std::sqrt(std::max(more.variance, 1e-12))));
  }
  return least;
}

void add_series(ProductOrBench& out, const Walks& walks, const Scale& scale, int batches) {
  const auto series = [&](const At& at) {
    std::vector<BenchAtBatch> points(static_cast<std::size_t>(scale.first));
    for (int g = 0; g < batches; ++g) {
      const auto known = walks.known({{at(g, 1), at(0, -1)}});
      points.push_back({known.value * scale.unit, std::sqrt(known.variance) * scale.unit});
    }
    return points;
  };
  out.product = series(product_at);
  for (std::size_t b = 0; b < out.benches.size(); ++b)
    out.drift.push_back(
        series([b](int g, double w) { return drift_at(static_cast<int>(b), g, w); }));
}

}  // namespace

std::vector<ReferenceCheck> joined_checks(const std::vector<ReferenceCheck>& checks) {
  using Key = std::tuple<std::size_t, std::string, std::string>;
  std::map<Key, std::vector<const ReferenceCheck*>> alike;
  for (const ReferenceCheck& check : checks)
    alike[{check.batch, check.bench, check.unit}].push_back(&check);
  std::vector<ReferenceCheck> joined;
  for (const auto& [key, group] : alike) {
    ReferenceCheck mean = *group.front();
    const double n = static_cast<double>(group.size());
    mean.value =
        analysis::sum_over(group.size(), [&](std::size_t i) { return group[i]->value; }) / n;
    mean.u = std::sqrt(analysis::sum_over(
                 group.size(), [&](std::size_t i) { return group[i]->u * group[i]->u; })) /
             n;
    joined.push_back(std::move(mean));
  }
  return joined;
}

ProductOrBench product_or_bench(const TestColumns& columns,
                                const std::vector<ReferenceCheck>& checks,
                                const std::function<void()>& go_on) {
  ProductOrBench out;
  out.benches = columns.bench.levels;
  const Cells cells = cells_of(columns, false);
  const std::size_t all = columns.batch.levels.size();
  if (all < kLeast || !(cells.sigma_inside > 0)) return out;
  const std::vector<ReferenceCheck> means_of_checks = joined_checks(checks);
  out.first_batch = first_looked_at(cells, means_of_checks, all);
  if (all - out.first_batch < kLeast) return out;
  Scale scale;
  scale.first = static_cast<int>(out.first_batch);
  const int batches = static_cast<int>(all) - scale.first;
  scale.about = cells.cells.front().mean;
  const double cells_a_batch = static_cast<double>(cells.cells.size()) / static_cast<double>(all);
  const double a_cell = static_cast<double>(columns.rows()) / static_cast<double>(all);
  scale.unit = cells.sigma_inside / std::sqrt(std::max(1.0, a_cell / cells_a_batch));
  const Walks walks(
      seen_in(cells, means_of_checks, scale, out.benches), go_on ? go_on : [] {});
  out.checked = !checks.empty();
  add_series(out, walks, scale, batches);
  const Best moved = surest(walks, out.benches.size(), batches);
  out.said = ProductOrBench::Said::nothing;
  if (moved.z < kSure) return out;
  const Dated when = dated(walks, moved.bench, batches);
  // What no date makes sure of wandered, and did not move.
  if (std::abs(when.change.value) < kLeastTold * std::sqrt(when.change.variance)) return out;
  const Best best{moved.z, moved.bench, when.course.since, when.change};
  out.since_batch = static_cast<std::size_t>(best.since + scale.first);
  out.change = best.change.value * scale.unit;
  out.u = std::sqrt(best.change.variance) * scale.unit;
  out.probability = probability_of(walks, best, out.benches.size(), batches);
  if (best.bench >= 0) out.bench = out.benches[static_cast<std::size_t>(best.bench)];
  out.said = out.probability < kToldApart ? ProductOrBench::Said::open
             : best.bench < 0             ? ProductOrBench::Said::product
                                          : ProductOrBench::Said::bench;
  return out;
}

}  // namespace endgate::statistics

#include "analysis/statistics/trend_cause.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "analysis/statistics/distribution.h"
#include "analysis/statistics/false_discovery.h"
#include "analysis/statistics/mixed_level.h"

namespace endgate::statistics {
namespace {

constexpr double kFalseDiscovery = 0.05;
constexpr double kWeightOfNone = 0.5;
constexpr double kUnrecordedWeight = 0.3;  // of the family "product", against a recorded one
constexpr std::size_t kEdge = 3;           // batches before and after a change
constexpr std::size_t kRefitted = 4;       // of each family
constexpr std::size_t kTold = 10;
constexpr double kSame = 0.98;  // correlation beyond which two hypotheses are one

struct TrendHypothesis {
  TrendCause cause{};
  std::string family{};
  Eigen::VectorXd x{};
  double t = 0, log_likelihood = 0;
};

using Hypotheses = std::vector<TrendHypothesis>;

Eigen::VectorXd column(const std::vector<Cell>& cells, auto value) {
  Eigen::VectorXd x(static_cast<Eigen::Index>(cells.size()));
  for (std::size_t i = 0; i < cells.size(); ++i) x(static_cast<Eigen::Index>(i)) = value(cells[i]);
  return x;
}

void add_levels(Hypotheses& all, const std::vector<Cell>& cells, const TestColumns& columns) {
  for (std::size_t f = 0; f < columns.causes.size(); ++f) {
    const Factor& factor = columns.causes[f];
    // Of two levels the first is what the second is compared with.
    const int first = factor.levels.size() == 2 ? 1 : 0;
    for (int level = static_cast<int>(factor.levels.size()) - 1; level >= first; --level)
      all.push_back(
          {{.factor = factor.name, .level = factor.levels[static_cast<std::size_t>(level)]},
           factor.name,
           column(cells, [&](const Cell& c) { return c.levels[f] == level ? 1.0 : 0.0; })});
  }
}

// 0 before batch `since`, then 1, or rising to 1 at the last batch.
double since_then(const Cell& cell, std::size_t since, bool ramp, std::size_t batches) {
  const double after = cell.batch - static_cast<double>(since);
  if (after < 0) return 0;
  return ramp ? (after + 1) / static_cast<double>(batches - since) : 1;
}

void add_times(Hypotheses& all, const std::vector<Cell>& cells, const TestColumns& columns) {
  const std::size_t batches = columns.batch.levels.size();
  const auto add = [&](const std::string& family, const std::string& level, int bench) {
    for (std::size_t since = kEdge; since + kEdge <= batches; ++since)
      for (const bool ramp : {false, true})
        all.push_back({{.factor = family, .level = level, .since_batch = since, .ramp = ramp},
                       family,
                       column(cells, [&](const Cell& c) {
                         if (bench >= 0 && c.bench != bench) return 0.0;
                         return since_then(c, since, ramp, batches);
                       })});
  };
  if (columns.bench.levels.size() > 1)
    for (std::size_t b = 0; b < columns.bench.levels.size(); ++b)
      add("bench", columns.bench.levels[b], static_cast<int>(b));
  add("product", "", -1);
}

// Level and constant differences of benches.
Eigen::MatrixXd base_of(const std::vector<Cell>& cells, std::size_t benches) {
  const auto columns = static_cast<Eigen::Index>(std::max<std::size_t>(1, benches));
  Eigen::MatrixXd base(static_cast<Eigen::Index>(cells.size()), columns);
  base.col(0).setOnes();
  for (Eigen::Index b = 1; b < columns; ++b)
    base.col(b) = column(cells, [&](const Cell& c) { return c.bench == b ? 1.0 : 0.0; });
  return base;
}

Eigen::MatrixXd with(const Eigen::MatrixXd& base, const Eigen::VectorXd& x) {
  Eigen::MatrixXd all(base.rows(), base.cols() + 1);
  all.leftCols(base.cols()) = base;
  all.rightCols(1) = x;
  return all;
}

class Search {
 public:
  explicit Search(const TestColumns& columns)
      : columns_(columns),
        level_(cells_of(columns, true)),
        base_(base_of(level_.cells(), columns.bench.levels.size())),
        none_(level_.best_fit(base_)) {
    add_levels(all_, level_.cells(), columns_);
    add_times(all_, level_.cells(), columns_);
    project();
  }

  TrendCauses ranking() {
    refit_the_best();
    adjust();
    weigh();
    sort_all();
    join_times();
    sort_all();
    TrendCauses ranking{
        .causes = {}, .probability_none = none_probability_, .none = true, .refusal = ""};
    for (std::size_t i = 0; i < std::min(kTold, all_.size()); ++i)
      ranking.causes.push_back(all_[i].cause);
    if (!all_.empty()) {
      ranking.none = all_.front().cause.p_adjusted > kFalseDiscovery;
      ranking.causes.front().inseparable = inseparable_from(all_.front());
    }
    return ranking;
  }

 private:
  // What the base explains is taken out of each x; those without anything left cannot be asked.
  void project() {
    const Eigen::MatrixXd based = level_.decorrelated(base_, none_.variances);
    const Eigen::HouseholderQR<Eigen::MatrixXd> qr(based);
    const Eigen::VectorXd y = level_.decorrelated(level_.y(), none_.variances);
    const Eigen::VectorXd rest = y - based * qr.solve(y);
    Hypotheses kept;
    for (TrendHypothesis& h : all_) {
      const Eigen::VectorXd x = level_.decorrelated(h.x, none_.variances);
      const Eigen::VectorXd left = x - based * qr.solve(x);
      if (left.squaredNorm() < 1e-8 * std::max(1.0, x.squaredNorm())) continue;
      // The first of two calibrations of a bench says the same as the second.
      if (!h.cause.since_batch && is_said(h.family, left)) continue;
      h.t = left.dot(rest) / left.norm();
      h.cause.shift = h.t / left.norm();
      h.cause.u = 1 / left.norm();
      h.cause.p = t_two_sided(h.t, freedom_of(h.x));
      h.log_likelihood = none_.log_likelihood + 0.5 * std::min(h.t * h.t, 10.0);
      kept.push_back(std::move(h));
    }
    all_ = std::move(kept);
  }

  bool is_said(const std::string& family, const Eigen::VectorXd& left) {
    std::vector<Eigen::VectorXd>& said = said_[family];
    for (const Eigen::VectorXd& other : said)
      if (std::abs(other.dot(left)) > 0.9999 * left.norm()) return true;
    said.push_back(left.normalized());
    return false;
  }

  // Share of the variance of x that lies between batches: 1 for lots, near 0 for operators.
  [[nodiscard]] double between(const Eigen::VectorXd& x) const {
    std::map<int, std::pair<double, double>> batches;
    double n = 0, sum = 0, square = 0;
    for (std::size_t i = 0; i < level_.cells().size(); ++i) {
      const Cell& c = level_.cells()[i];
      const double v = x(static_cast<Eigen::Index>(i));
      batches[c.batch].first += c.n;
      batches[c.batch].second += c.n * v;
      n += c.n, sum += c.n * v, square += c.n * v * v;
    }
    double means = 0;
    for (const auto& [batch, moments] : batches)
      means += moments.second * moments.second / moments.first;
    const double whole = square - sum * sum / n;
    return whole > 0 ? std::clamp((means - sum * sum / n) / whole, 0.0, 1.0) : 1;
  }

  [[nodiscard]] double freedom_of(const Eigen::VectorXd& x) const {
    const double f = between(x), batches = static_cast<double>(level_.batches());
    const double cells = static_cast<double>(level_.cells().size());
    const double inside = std::max(1.0, cells - batches - static_cast<double>(base_.cols()));
    return 1 / (f * f / std::max(1.0, batches - 2) + (1 - f) * (1 - f) / inside);
  }

  void refit(TrendHypothesis& h) {
    const LevelFit fit = level_.best_fit(with(base_, h.x));
    const double wider = 1 + between(h.x) * ((1 + fit.phi) / (1 - fit.phi) - 1);
    h.cause.shift = fit.parameters(fit.parameters.size() - 1);
    h.cause.u = fit.u_last * std::sqrt(wider);
    h.t = h.cause.shift / h.cause.u;
    h.cause.p = t_two_sided(h.t, freedom_of(h.x));
    h.log_likelihood = none_.log_likelihood + (fit.log_likelihood - none_.log_likelihood) / wider;
  }

  void refit_the_best() {
    std::map<std::string, std::vector<TrendHypothesis*>> families;
    for (TrendHypothesis& h : all_) families[h.family].push_back(&h);
    for (auto& [family, members] : families) {
      std::ranges::sort(members, [](const TrendHypothesis* a, const TrendHypothesis* b) {
        return std::abs(a->t) > std::abs(b->t);
      });
      for (std::size_t i = 0; i < std::min(kRefitted, members.size()); ++i) refit(*members[i]);
    }
  }

  void adjust() {
    std::vector<double> p;
    for (const TrendHypothesis& h : all_) p.push_back(h.cause.p);
    const std::vector<double> adjusted = adjusted_for_many(p);
    for (std::size_t i = 0; i < all_.size(); ++i) all_[i].cause.p_adjusted = adjusted[i];
  }

  void sort_all() {
    std::ranges::sort(all_, [](const TrendHypothesis& a, const TrendHypothesis& b) {
      return a.cause.probability > b.cause.probability;
    });
  }

  // One bench since this or that batch is one cause: the likeliest start, all their probability.
  void join_times() {
    Hypotheses joined;
    for (TrendHypothesis& h : all_) {
      const auto same = [&](const TrendHypothesis& o) {
        return o.cause.factor == h.cause.factor && o.cause.level == h.cause.level;
      };
      const auto found = std::ranges::find_if(joined, same);
      if (found == joined.end()) {
        joined.push_back(std::move(h));
        continue;
      }
      found->cause.probability += h.cause.probability;
      found->cause.p_adjusted = std::min(found->cause.p_adjusted, h.cause.p_adjusted);
    }
    all_ = std::move(joined);
  }

  void weigh() {
    std::map<std::string, double> members;
    for (const TrendHypothesis& h : all_) members[h.family] += 1;
    const double families = static_cast<double>(members.size());
    const double size = 0.5 * std::log(static_cast<double>(level_.batches()));
    double whole = kWeightOfNone;
    for (TrendHypothesis& h : all_) {
      const double family = h.family == "product" ? kUnrecordedWeight : 1;
      const double before = (1 - kWeightOfNone) * family / families / members[h.family];
      h.cause.probability = before * std::exp(h.log_likelihood - none_.log_likelihood - size);
      whole += h.cause.probability;
    }
    for (TrendHypothesis& h : all_) h.cause.probability /= whole;
    none_probability_ = kWeightOfNone / whole;
  }

  [[nodiscard]] Eigen::VectorXd own_part(const TrendHypothesis& h) const {
    const Eigen::MatrixXd based = level_.decorrelated(base_, none_.variances);
    const Eigen::VectorXd x = level_.decorrelated(h.x, none_.variances);
    const Eigen::HouseholderQR<Eigen::MatrixXd> qr(based);
    return (x - based * qr.solve(x)).normalized();
  }

  [[nodiscard]] std::vector<std::string> inseparable_from(const TrendHypothesis& first) const {
    std::vector<std::string> names;
    const Eigen::VectorXd own = own_part(first);
    for (const TrendHypothesis& h : all_) {
      if (h.family == first.family || h.family == "product") continue;
      if (std::abs(own.dot(own_part(h))) < kSame) continue;
      const std::string name = h.cause.factor + " " + h.cause.level;
      if (std::ranges::find(names, name) == names.end()) names.push_back(name);
    }
    return names;
  }

  const TestColumns& columns_;
  MixedLevel level_;
  Eigen::MatrixXd base_;
  LevelFit none_;
  Hypotheses all_{};
  std::map<std::string, std::vector<Eigen::VectorXd>> said_{};
  double none_probability_ = 1;
};

}  // namespace

TrendCauses trend_causes(const TestColumns& columns) {
  const std::size_t batches = columns.batch.levels.size();
  TrendCauses refused;
  if (batches < kLeastBatches) {
    refused.refusal = std::to_string(batches) + (batches == 1 ? " batch" : " batches") +
                      "; change points need " + std::to_string(kLeastBatches);
    return refused;
  }
  if (!(cells_of(columns, true).sigma_inside > 0)) {
    refused.refusal = "no two tests share batch, bench and all that is recorded";
    return refused;
  }
  return Search(columns).ranking();
}

}  // namespace endgate::statistics

#include "analysis/statistics/trend_cause.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <utility>

#include "analysis/statistics/chosen_rows.h"
#include "analysis/statistics/distribution.h"
#include "analysis/statistics/false_discovery.h"
#include "analysis/statistics/mixed_level.h"
#include "analysis/statistics/trend_hypothesis.h"

namespace endgate::statistics {
namespace {

constexpr double kFalseDiscovery = 0.05;
constexpr double kWeightOfNone = 0.5;
constexpr double kUnrecordedWeight = 0.3;  // of the family "product", against a recorded one
constexpr std::size_t kRefitted = 4;       // of each family
constexpr std::size_t kTold = 10;
constexpr double kSame = 0.98;  // correlation beyond which two hypotheses are one

using Hypotheses = std::vector<TrendHypothesis>;
using GoOn = std::function<void()>;
using Benches = std::optional<std::vector<std::string>>;

// Level and constant differences of benches.
Eigen::MatrixXd base_of(const std::vector<Cell>& cells, std::size_t benches) {
  const auto columns = static_cast<Eigen::Index>(std::max<std::size_t>(1, benches));
  Eigen::MatrixXd base(static_cast<Eigen::Index>(cells.size()), columns);
  base.col(0).setOnes();
  for (Eigen::Index b = 1; b < columns; ++b)
    for (std::size_t i = 0; i < cells.size(); ++i)
      base(static_cast<Eigen::Index>(i), b) = cells[i].bench == b ? 1 : 0;
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
  Search(const TestColumns& columns, const GoOn& go_on, const Benches& benches)
      : columns_(columns),
        go_on_(go_on),
        level_(cells_of(columns, true)),
        base_(base_of(level_.cells(), columns.bench.levels.size())),
        none_(level_.best_fit(base_)),
        all_(trend_hypotheses(columns, benches)) {
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
      go_on_();
      const Eigen::VectorXd plain = x_of(h);
      const Eigen::VectorXd x = level_.decorrelated(plain, none_.variances);
      const Eigen::VectorXd left = x - based * qr.solve(x);
      if (left.squaredNorm() < 1e-8 * std::max(1.0, x.squaredNorm())) continue;
      // The first of two calibrations of a bench says the same as the second.
      if (!h.cause.since_batch && is_said(h.family, left)) continue;
      h.t = left.dot(rest) / left.norm();
      h.cause.shift = h.t / left.norm();
      h.cause.u = 1 / left.norm();
      h.cause.p = t_two_sided(h.t, freedom_of(plain));
      h.log_likelihood = none_.log_likelihood + 0.5 * std::min(h.t * h.t, 10.0);
      kept.push_back(std::move(h));
    }
    all_ = std::move(kept);
  }

  [[nodiscard]] Eigen::VectorXd x_of(const TrendHypothesis& h) const {
    return h.x(level_.cells(), columns_.batch.levels.size());
  }

  // Families come one after the other, so only one is remembered.
  bool is_said(const std::string& family, const Eigen::VectorXd& left) {
    if (family != said_family_) said_.clear();
    said_family_ = family;
    for (const Eigen::VectorXd& other : said_)
      if (std::abs(other.dot(left)) > 0.9999 * left.norm()) return true;
    said_.push_back(left.normalized());
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
    go_on_();
    const Eigen::VectorXd x = x_of(h);
    const LevelFit fit = level_.best_fit(with(base_, x));
    const double wider = 1 + between(x) * ((1 + fit.phi) / (1 - fit.phi) - 1);
    h.cause.shift = fit.parameters(fit.parameters.size() - 1);
    h.cause.u = fit.u_last * std::sqrt(wider);
    h.t = h.cause.shift / h.cause.u;
    h.cause.p = t_two_sided(h.t, freedom_of(x));
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
    const Eigen::VectorXd x = level_.decorrelated(x_of(h), none_.variances);
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
  const GoOn& go_on_;
  MixedLevel level_;
  Eigen::MatrixXd base_;
  LevelFit none_;
  Hypotheses all_{};
  std::string said_family_{};
  std::vector<Eigen::VectorXd> said_{};
  double none_probability_ = 1;
};

}  // namespace

TrendCauses trend_causes(const TestColumns& columns, const std::function<void()>& go_on,
                         const std::optional<std::vector<std::string>>& benches) {
  const std::size_t all = columns.batch.levels.size();
  if (all > kMostBatches) {
    const std::size_t first = all - kMostBatches;
    TrendCauses newest = trend_causes(rows_since_batch(columns, first), go_on, benches);
    newest.first_batch = first;
    for (TrendCause& cause : newest.causes)
      if (cause.since_batch) *cause.since_batch += first;
    return newest;
  }
  TrendCauses refused;
  if (all < kLeastBatches) {
    refused.refusal = std::to_string(all) + (all == 1 ? " batch" : " batches") +
                      "; change points need " + std::to_string(kLeastBatches);
    return refused;
  }
  if (!(cells_of(columns, true).sigma_inside > 0)) {
    refused.refusal = "no two tests share batch, bench and all that is recorded";
    return refused;
  }
  const GoOn next = go_on ? go_on : GoOn([] {});
  return Search(columns, next, benches).ranking();
}

}  // namespace endgate::statistics

#include "analysis/likely_cause.h"

#include <Eigen/Dense>
#include <algorithm>
#include <boost/math/distributions/fisher_f.hpp>
#include <cmath>
#include <limits>

#include "analysis/cause_hypotheses.h"
#include "analysis/cause_sentence.h"

namespace endgate::analysis {
namespace {

using Eigen::VectorXd;

constexpr double kApart = 2;  // standard deviations
constexpr double kLeastShown = 0.01;
constexpr double kLeastNamed = 0.02;  // a look-alike below is not worth a name
constexpr std::size_t kMostShown = 5;
constexpr double kMisfit = 0.999;        // of Hotelling's T2
constexpr double kUnexplainedPrior = 1;  // as one part
constexpr double kUnits = 50;            // that a table is learned from
constexpr double kSignAgrees = 0.97;
constexpr double kSignDiffers = 0.001;
constexpr double kSignUnexplained = 0.1;

bool is_asked(const RawTrace& trace, const Grade& grade) {
  return trace.trip || grade.verdict == Verdict::fail ||
         std::ranges::any_of(grade.limits, [](const LimitOutcome& limit) {
           return limit.verdict == Verdict::fail;
         });
}

struct Weighed {
  const Hypothesis* hypothesis = nullptr;
  double log_evidence = -std::numeric_limits<double>::infinity();
  const HypothesisPoint* best = nullptr;  // the likeliest severity
  double misfit = 0;                      // chi2 there
  double probability = 0;
};

double squares(const VectorXd& difference, const Eigen::LLT<Eigen::MatrixXd>& root) {
  const VectorXd white = root.matrixL().solve(difference);
  return white.squaredNorm();
}

double log_determinant(const Eigen::LLT<Eigen::MatrixXd>& root) {
  double sum = 0;
  const Eigen::MatrixXd lower = root.matrixL();
  for (Eigen::Index i = 0; i < lower.rows(); ++i) sum += 2 * std::log(lower(i, i));
  return sum;
}

double log_of_sum(double a, double b) {
  const double most = std::max(a, b);
  return std::isfinite(most) ? most + std::log(std::exp(a - most) + std::exp(b - most)) : most;
}

// Student's density, as the scatter is known from so many units only; normal when from many.
double log_density(double misfit, double units, Eigen::Index readings) {
  return -(units + static_cast<double>(readings)) / 2 * std::log1p(misfit / units);
}

Weighed weigh(const Hypothesis& hypothesis, const CauseData& data, double units) {
  Weighed weighed{&hypothesis};
  double highest = -std::numeric_limits<double>::infinity();
  for (const HypothesisPoint& point : hypothesis.points) {
    const Eigen::LLT<Eigen::MatrixXd> root(data.covariance_at(point.shift));
    const double misfit = squares(data.residual - point.shift, root);
    const double sign = point.sign == data.sign ? kSignAgrees : kSignDiffers;
    const double log_weight = std::log(point.weight * sign) - log_determinant(root) / 2 +
                              log_density(misfit, units, data.residual.size());
    if (!std::isfinite(log_weight)) continue;
    weighed.log_evidence = log_of_sum(weighed.log_evidence, log_weight);
    if (log_weight <= highest) continue;
    highest = log_weight;
    weighed.best = &point;
    weighed.misfit = misfit;
  }
  weighed.log_evidence += std::log(hypothesis.prior);
  return weighed;
}

// Hotelling's T2 at kMisfit: chi2 of `readings` for a scatter learned from many units.
double usual_misfit(double readings, double units) {
  const double freedom = std::max(2.0, units - readings);
  const boost::math::fisher_f ratio(readings, freedom);
  return readings * units / freedom * boost::math::quantile(ratio, kMisfit);
}

// The 99.9 % point in place of what the best cause leaves.
double log_of_unexplained(const Weighed& best, const CauseData& data, double units) {
  const Eigen::Index n = data.residual.size();
  const double usual = n > 0 ? usual_misfit(static_cast<double>(n), units) : 0;
  const double sign = best.best->sign == data.sign ? kSignAgrees : kSignDiffers;
  return best.log_evidence - std::log(best.hypothesis->prior) + std::log(kUnexplainedPrior) +
         log_density(usual, units, n) - log_density(best.misfit, units, n) +
         std::log(kSignUnexplained / sign);
}

void normalise(std::vector<Weighed>& all, double& unexplained) {
  double total = unexplained;
  for (const Weighed& one : all) total = log_of_sum(total, one.log_evidence);
  for (Weighed& one : all) one.probability = std::exp(one.log_evidence - total);
  unexplained = std::exp(unexplained - total);
}

// Does `other`, at whatever severity, make nearly the same of the readings?
bool look_alike(const Weighed& head, const Weighed& other, const CauseData& data) {
  if (head.best->sign != other.best->sign) return false;
  const Eigen::LLT<Eigen::MatrixXd> root(data.covariance_at(head.best->shift));
  return std::ranges::any_of(other.hypothesis->points, [&](const HypothesisPoint& point) {
    return point.sign == head.best->sign &&
           squares(head.best->shift - point.shift, root) < kApart * kApart;
  });
}

using Group = std::vector<const Weighed*>;

std::vector<Group> groups_of(const std::vector<Weighed>& by_probability, const CauseData& data) {
  std::vector<Group> groups;
  std::vector<bool> taken(by_probability.size(), false);
  for (std::size_t i = 0; i < by_probability.size(); ++i) {
    if (taken[i] || by_probability[i].probability < kLeastShown) continue;
    groups.push_back({&by_probability[i]});
    for (std::size_t j = i + 1; j < by_probability.size(); ++j) {
      if (taken[j] || by_probability[j].probability < kLeastNamed) continue;
      taken[j] = look_alike(by_probability[i], by_probability[j], data);
      if (taken[j]) groups.back().push_back(&by_probability[j]);
    }
  }
  return groups;
}

LikelyCause stated(const Group& group) {
  LikelyCause cause;
  cause.of_bench = true;
  for (const Weighed* member : group) {
    cause.causes.push_back(member->hypothesis->id);
    cause.probability += member->probability;
    cause.of_bench = cause.of_bench && member->hypothesis->of_bench;
  }
  return cause;
}

// What is like ordinary scatter accuses nobody, whatever it is called.
void keep_only_ordinary(Group& group, LikelyCause& cause) {
  const auto ordinary = std::ranges::find_if(
      group, [](const Weighed* member) { return member->hypothesis->id == kOrdinary; });
  if (ordinary == group.end()) return;
  group = {*ordinary};
  cause.causes = {kOrdinary};
  cause.of_bench = false;
}

// The runner-up: the likeliest outside the group that says something else.
const Weighed* rival(const std::vector<Weighed>& by_probability, const Group& group) {
  for (const Weighed& one : by_probability)
    if (std::ranges::find(group, &one) == group.end() && !one.hypothesis->of_bench &&
        one.hypothesis->id != kOrdinary)
      return &one;
  return nullptr;
}

CauseTold told(const Weighed& one) { return {one.hypothesis, one.best}; }

LikelyCause unexplained(double probability) {
  return {.causes = {kUnexplained},
          .name = "Unexplained",
          .probability = probability,
          .evidence = "No known fault of this model explains the readings together.",
          .told_apart_by = ""};
}

}  // namespace

std::vector<LikelyCause> likely_causes(const RawTrace& trace, const Context& context,
                                       const Evaluation& evaluation) {
  if (context.causes.causes.empty() || !is_asked(trace, evaluation.grade)) return {};
  const CauseData data = cause_data(context.causes, trace, evaluation);
  const std::vector<Hypothesis> possible = hypotheses(context, data, evaluation);
  const double units = kUnits;
  std::vector<Weighed> all;
  for (const Hypothesis& hypothesis : possible) {
    const Weighed weighed = weigh(hypothesis, data, units);
    if (weighed.best != nullptr) all.push_back(weighed);
  }
  if (all.empty()) return {unexplained(1)};
  std::ranges::stable_sort(all, std::greater{}, &Weighed::log_evidence);
  double left = log_of_unexplained(all.front(), data, units);
  normalise(all, left);
  std::vector<LikelyCause> causes;
  for (Group& group : groups_of(all, data)) {
    LikelyCause cause = stated(group);
    keep_only_ordinary(group, cause);
    std::vector<CauseTold> members;
    for (const Weighed* member : group) members.push_back(told(*member));
    cause.name = name_of_group(members);
    const Weighed* other = rival(all, group);
    cause.evidence = evidence_of(context.causes, data, members.front(),
                                 other != nullptr ? std::optional(told(*other)) : std::nullopt);
    cause.told_apart_by = told_apart_by(members);
    causes.push_back(std::move(cause));
  }
  if (left >= kLeastShown) causes.push_back(unexplained(left));
  std::ranges::stable_sort(causes, std::greater{}, &LikelyCause::probability);
  if (causes.size() > kMostShown) causes.resize(kMostShown);
  return causes;
}

}  // namespace endgate::analysis

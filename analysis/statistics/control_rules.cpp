#include "analysis/statistics/control_rules.h"

#include <algorithm>
#include <cmath>
#include <random>

namespace endgate::statistics {
namespace {

constexpr std::uint64_t kRunLengthSeed = 2648;

// One stretch of points of the process as it is, standard deviation `scale`.
class Process {
 public:
  explicit Process(const RunLengthAsked& asked)
      : asked_(asked), fresh_(std::sqrt(1 - asked.likeness * asked.likeness)) {}
  void begin_anew() { level_ = normal_(random_); }
  double next() {
    level_ = asked_.likeness * level_ + fresh_ * normal_(random_);
    return asked_.scale * level_ + asked_.shift;
  }

 private:
  const RunLengthAsked& asked_;
  double fresh_;
  std::mt19937_64 random_{kRunLengthSeed};
  std::normal_distribution<double> normal_{0, 1};
  double level_ = 0;
};

}  // namespace

std::vector<ControlRule> ControlRules::list() const {
  std::vector<ControlRule> rules;
  for (std::size_t i = 0; i < kControlRuleNames.size(); ++i)
    if (has(static_cast<ControlRule>(i))) rules.push_back(static_cast<ControlRule>(i));
  return rules;
}

double RuleWatch::running_half_width() const {
  return kRunningWidth * std::sqrt(kRunningWeight / (2 - kRunningWeight) * (1 - left_));
}

ControlRules RuleWatch::step(double z) {
  const double sign = z < 0 ? -1 : 1;
  const bool near = std::abs(z) > kNearLimit &&
                    std::ranges::any_of(before_, [&](double b) { return sign * b > kNearLimit; });
  before_ = {z, before_[0]};
  run_ = run_ * sign > 0 ? run_ + static_cast<int>(sign) : static_cast<int>(sign);
  running_ += kRunningWeight * (z - running_);
  left_ *= (1 - kRunningWeight) * (1 - kRunningWeight);
  up_ = std::max(0.0, up_ + z - kSumAllowance);
  down_ = std::max(0.0, down_ - z - kSumAllowance);

  ControlRules broken;
  const auto say = [&](ControlRule rule, bool holds) {
    if (holds && rules_.has(rule)) broken.add(rule);
  };
  say(ControlRule::outside, std::abs(z) > kOutside);
  say(ControlRule::two_of_three, near);
  say(ControlRule::one_side, std::abs(run_) >= kOneSide);
  say(ControlRule::running_mean, std::abs(running_) > running_half_width());
  say(ControlRule::running_sum, std::max(up_, down_) > kSumBound);
  return broken;
}

double run_length_together(const RunLengthAsked& asked) {
  Process process(asked);
  process.begin_anew();
  RuleWatch watch(asked.rules);
  std::size_t signals = 0;
  for (std::size_t i = 0; i < asked.points; ++i) {
    if (!watch.step(process.next()).any()) continue;
    ++signals;
    watch.begin_anew();
    process.begin_anew();
  }
  return static_cast<double>(asked.points) / static_cast<double>(std::max<std::size_t>(1, signals));
}

}  // namespace endgate::statistics

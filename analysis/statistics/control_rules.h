// Which batch breaks which rule of a control chart, and how often do the rules in force signal
// falsely together?
//
// RULES   z is the distance of a batch mean from the centre in standard deviations of such a mean,
//         of what batches differ by anyway and of its number of units (control_limits.h).
//   outside        |z| > 3: one batch is unlike the others
//   two_of_three   two of three in a row beyond 2 on one side: a shift of middling size
//   one_side       nine in a row on one side: a lasting shift that is small
//   running_mean   e = 0.1 z + 0.9 e beyond 2.7 of its own standard deviations: a slow drift
//   running_sum    max(0, s + |side of z| - 0.5) above 4.77: a lasting shift, and since when
// A run of rising or falling means is no rule here: the running mean and the running sum find a
// drift, and every further rule costs false signals.
//
// RUN LENGTH   points until the first signal while nothing moves, of exactly these rules together.
//         Simulated from a fixed seed, begun anew after each signal; its own chance error is about
//         the length / sqrt(points / length), under 2 % up to 500.  Agrees with the computed ones
//         of run_length.h where those exist.
//           likeness   correlation of neighbouring means: first order autoregressive
//           scale      true standard deviation over the one the limits were made with

#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace endgate::statistics {

enum class ControlRule : std::uint8_t {
  outside,
  two_of_three,
  one_side,
  running_mean,
  running_sum
};
inline constexpr std::array<std::string_view, 5> kControlRuleNames{
    "outside", "two_of_three", "one_side", "running_mean", "running_sum"};

class ControlRules {
 public:
  constexpr ControlRules() = default;
  template <class... Rules>
  constexpr explicit ControlRules(Rules... rules) {
    (add(rules), ...);
  }
  constexpr void add(ControlRule rule) { bits_ |= bit(rule); }
  [[nodiscard]] constexpr bool has(ControlRule rule) const { return (bits_ & bit(rule)) != 0; }
  [[nodiscard]] constexpr bool any() const { return bits_ != 0; }
  [[nodiscard]] std::vector<ControlRule> list() const;
  constexpr bool operator==(const ControlRules&) const = default;

 private:
  static constexpr unsigned bit(ControlRule rule) { return 1U << static_cast<unsigned>(rule); }
  unsigned bits_ = 0;
};
// Where nobody chose others.  Two of three is left to a choice: it halves the run length.
inline constexpr ControlRules kUsualRules{ControlRule::outside, ControlRule::one_side,
                                          ControlRule::running_mean, ControlRule::running_sum};

inline constexpr double kOutside = 3, kNearLimit = 2;
inline constexpr int kOneSide = 9;
inline constexpr double kRunningWeight = 0.1, kRunningWidth = 2.7;
inline constexpr double kSumAllowance = 0.5, kSumBound = 4.77;

// The memory of all rules from one point to the next.
class RuleWatch {
 public:
  explicit RuleWatch(ControlRules rules) : rules_(rules) {}
  ControlRules step(double z);  // those that this point breaks
  void begin_anew() { *this = RuleWatch(rules_); }

  // All in standard deviations of a mean.
  [[nodiscard]] double running_mean() const { return running_; }
  [[nodiscard]] double running_half_width() const;
  [[nodiscard]] double up() const { return up_; }
  [[nodiscard]] double down() const { return down_; }

 private:
  ControlRules rules_;
  std::array<double, 2> before_{};  // the newest first
  int run_ = 0;                     // + above, - below
  double running_ = 0, left_ = 1;
  double up_ = 0, down_ = 0;
};

struct RunLengthAsked {
  ControlRules rules = kUsualRules;
  double likeness = 0;           // 0 <= likeness < 1
  double scale = 1, shift = 0;   // shift in standard deviations of a mean
  std::size_t points = 400'000;  // simulated in all
};
[[nodiscard]] double run_length_together(const RunLengthAsked& asked);

}  // namespace endgate::statistics

// What moves between two judgements of the same tests?  As kept and as this program would judge
// them, or as two programs did.
//
//   M-1  a number moves when it differs by more than rounding (R-2 of daemon/mapping/replay.h), in
//        its value or in its u; appears and vanishes are apart
//   M-2  moves are told in u of the first judgement
//   M-3  nothing moves when every sealed part of every test is equal bit for bit
//
// Memory is bounded by the number of metrics and parts, not of tests.

#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <utility>

#include "daemon/queries/judgement.h"

namespace endgate::daemon {

// Of one metric over all tests that were compared.
struct MetricMoves {
  std::int64_t tests = 0;               // with a value on both sides
  std::int64_t moved = 0;               // of these, by more than rounding
  std::int64_t appeared = 0;            // had no value, has one
  std::int64_t vanished = 0;            // had a value, has none
  std::int64_t u_moved = 0;             // of `tests`
  std::int64_t without_u = 0;           // of `moved`: there is no u to tell it in
  double sum_u = 0;                     // of moves in u, with their signs
  double largest_u = 0;                 // with its sign
  std::string largest_of{};             // "QH2648-0001-A attempt 1"
  double largest_u_ratio = 1;           // of u now to u before, furthest from 1 either way
  [[nodiscard]] double mean_u() const;  // over those that moved; 0 when none did

  [[nodiscard]] bool any() const { return moved + appeared + vanished + u_moved > 0; }
};

// What moved in one test.
struct TestMoves {
  bool equal = false;    // bit for bit
  bool verdict = false;  // another one
  int numbers = 0;       // metrics that moved, appeared, vanished, or whose u moved
};

class Moves {
 public:
  TestMoves add(const std::string& test, const Judgement& before, const Judgement& after);

  [[nodiscard]] std::int64_t tests() const { return tests_; }
  [[nodiscard]] std::int64_t equal() const { return equal_; }
  [[nodiscard]] std::int64_t verdicts() const { return verdicts_; }  // tests with another one
  [[nodiscard]] std::int64_t numbers() const { return numbers_; }
  [[nodiscard]] std::int64_t tests_with_numbers() const { return tests_with_numbers_; }
  // Whether a verdict or a number moved: rounding does not count.
  [[nodiscard]] bool any() const { return verdicts_ + numbers_ > 0; }
  // Verdict before and after.
  using VerdictPair = std::pair<std::string, std::string>;
  [[nodiscard]] const std::map<VerdictPair, std::int64_t>& verdict_table() const {
    return verdict_table_;
  }
  [[nodiscard]] const std::map<std::string, MetricMoves>& metrics() const { return metrics_; }
  // Parts of the record that differ in any bit, with the number of tests.
  [[nodiscard]] const std::map<std::string, std::int64_t>& parts() const { return parts_; }

 private:
  int add_metrics(const std::string& test, const Judgement& before, const Judgement& after);
  bool add_parts(const Judgement& before, const Judgement& after);

  std::int64_t tests_ = 0, equal_ = 0, verdicts_ = 0, numbers_ = 0, tests_with_numbers_ = 0;
  std::map<VerdictPair, std::int64_t> verdict_table_{};
  std::map<std::string, MetricMoves> metrics_{};
  std::map<std::string, std::int64_t> parts_{};
};

// "QH2648-0001-A attempt 1"
[[nodiscard]] std::string name_of(const JudgedTest& test);

}  // namespace endgate::daemon

// Does this bench still read its reference unit as it did before?
//
// A reference unit is a kept, known unit.  What it should read is learned from its own earlier
// tests on the same bench, never from another one.
//
// ESTIMATE, for each metric that the new test and at least kFewestEarlier earlier ones have
//
//   expected = mean of the earlier values, n of them
//   sigma    = the larger of  the u of one test that is its own  and  the scatter s of the earlier
//              values, widened like a Student interval:  s t_95.45 %(n-1) / 2
//   u_d^2    = sigma^2 (1 + 1/n)  +  (h u_shared)^2,  h the share of the earlier tests that were made
//              under another calibration; with kFewestEarlier or more under the present one, these
//              alone are asked and h is 0
//   allowed  = k u_d,   P(|z| <= k) = 1 - kFalseAlarm / (number of metrics held)
//
//   The u of a calibration, of constants and corrections is shared by all tests of one bench under
//   one calibration and cancels in the difference; it comes back with a new calibration.  What is
//   the test's own: every cause that is "random" or begins with "random/".
//
// The bench is out of control when one metric lies beyond what is allowed.  A reference unit ages,
// so `expected` is a mean over the newest kMostEarlier tests that were in control, and starts anew
// when a person says so.
//
// While it is being learned, with fewer earlier tests than that, a test is unlike its fellows when
//
//   |value - mean of the earlier|  >  k hypot(u, largest u of the earlier)
//
// for one metric, u whole and k as above: two tests of one unit on one bench differ by less, so
// another unit was clamped, or the bench moved.
//
// Measured (tests/analysis/upkeep_reference_check_test.cpp, seeded): of 20 000 checks without any
// change, with 4 to 8 earlier tests of 12 metrics, under 1 % are out of control; of a bench that
// reads 1.5 % low with a repeatability of 0.2 %, more than 99 % are found at the first check.
//
// CONTRACT
//
//   RC-1  Fewer than kFewestEarlier earlier tests: learning, never in or out of control.
//   RC-2  A bound itself is in control.  A metric without a value says nothing.
//   RC-3  A u that both share changes nothing while the calibration stays.
//   RC-4  A test that is being learned from and lies far from its fellows is told.
//   RC-5  Nothing throws except std::bad_alloc.

#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/evaluation.h"

namespace endgate::analysis {

inline constexpr std::size_t kFewestEarlier = 3;
inline constexpr std::size_t kMostEarlier = 20;
inline constexpr double kFalseAlarm = 0.005;  // of one check, over all its metrics

struct ReferenceTest {
  std::string calibration{};  // id under which it was evaluated, "calibration north@2"
  std::vector<Metric> metrics{};
};

struct HeldMetric {
  std::string metric{};
  double value = 0, u = 0;  // of the new test
  double expected = 0;
  double u_difference = 0;
  double allowed = 0;
  std::size_t earlier = 0;  // tests behind `expected`

  [[nodiscard]] double share() const { return (value - expected) / allowed; }
  [[nodiscard]] bool out() const { return share() > 1 || share() < -1; }
};

enum class ControlWord { learning, in_control, out_of_control };

struct ReferenceCheck {
  ControlWord word = ControlWord::learning;
  std::vector<HeldMetric> held;  // in the order of the new test's metrics
};

// `earlier`: oldest first.
[[nodiscard]] ReferenceCheck check_reference(const ReferenceTest& now,
                                             std::span<const ReferenceTest> earlier);

// The metric farthest from the earlier tests, when the test is unlike them; nothing with none of
// them, or with enough for check_reference().
[[nodiscard]] std::optional<HeldMetric> unlike_fellows(const ReferenceTest& now,
                                                       std::span<const ReferenceTest> earlier);

constexpr const char* word_of(ControlWord word) {
  switch (word) {
    case ControlWord::learning:
      return "learning";
    case ControlWord::in_control:
      return "in_control";
    case ControlWord::out_of_control:
      return "out_of_control";
  }
  return "learning";
}

}  // namespace endgate::analysis

// How sure is sure?  Of locks stated at 99 %, at most one in a hundred may be false.  The same with
// the fit behind it, and beside a neighbour's motor: ripple_benchmark.

#include "analysis/ripple_lock.h"

#include <gtest/gtest.h>

#include "tests/analysis/ripple_made.h"

namespace endgate::analysis {
namespace {

constexpr double kRate = 20000;
constexpr std::size_t kSamples = 10000;
constexpr int kRuns = 2600;
constexpr double kFalse = 0.005;  // of the speed; a lock is good to half a bin of the commutation

struct Counts {
  int sure = 0, wrong = 0;
};

Counts count_locks(std::uint64_t seed) {
  std::mt19937_64 random(seed);
  Counts counts;
  for (int run = 0; run < kRuns; ++run) {
    const ripple_made::Motor motor = ripple_made::any_motor(random);
    const auto current = ripple_made::waveform(motor, kRate, kSamples, random);
    const RippleExpectation expected{motor.commutations, 28, 62};
    const auto block = static_cast<std::size_t>(2 * expected.fastest_rev_s * kSamples / kRate);
    const RippleLock lock = ripple_lock(ripple_spectrum(current, kRate, block), expected);
    if (lock.probability < 0.99) continue;
    ++counts.sure;
    if (std::abs(lock.speed_rev_s / motor.speed_rev_s - 1) > kFalse) ++counts.wrong;
  }
  return counts;
}

TEST(RippleLock, OfLocksStatedAt99PerCentAtMostOneInAHundredIsFalse) {
  const Counts counts = count_locks(20261126);
  RecordProperty("sure", counts.sure);
  RecordProperty("wrong", counts.wrong);
  EXPECT_GT(counts.sure, 900);  // or the count below would mean nothing
  EXPECT_LE(100 * counts.wrong, counts.sure);
}

}  // namespace
}  // namespace endgate::analysis

#include "daemon/cli/alive_meanwhile.h"

#include <gtest/gtest.h>

#include <atomic>

namespace endgate::test {
namespace {

using namespace std::chrono_literals;
using daemon::AliveMeanwhile;

TEST(AliveMeanwhile, LeavesAStartThatNeverEndsToTheWatchdog) {
  std::atomic<int> told = 0;
  const AliveMeanwhile hangs(1ms, 5ms, [&] { ++told; });
  while (told < 5) std::this_thread::sleep_for(1ms);
  std::this_thread::sleep_for(50ms);
  EXPECT_EQ(told, 5);
}

TEST(AliveMeanwhile, TellsNobodyWhereNoWatchdogWaits) {
  std::atomic<int> told = 0;
  {
    const AliveMeanwhile start(0ms, 5ms, [&] { ++told; });
  }
  EXPECT_EQ(told, 0);
}

}  // namespace
}  // namespace endgate::test

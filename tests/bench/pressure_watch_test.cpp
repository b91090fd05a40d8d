#include "daemon/bench/pressure_watch.h"

#include <gtest/gtest.h>

#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using namespace std::chrono_literals;

class PressureWatchTest : public ::testing::Test {
 protected:
  BenchDefinition bench = made_bench();
  PressureWatch watch{bench};
  Frame frame;

  void read(std::optional<double> gauge_pa, std::chrono::milliseconds later = 20ms) {
    frame.arrived += later;
    frame.value_si[static_cast<std::size_t>(Role::discharge_pressure)] = gauge_pa;
    watch.on_frame(frame);
  }
};

TEST_F(PressureWatchTest, AUnitIsDoubtfulFromTheEndOfItsTestUntilItIsSeenVented) {
  read(500);
  EXPECT_FALSE(watch.stands());
  watch.test_is_over();
  EXPECT_TRUE(watch.stands());
  read(412e3);
  read(21e3);
  EXPECT_TRUE(watch.stands());
  read(500);
  EXPECT_FALSE(watch.stands());
}

TEST_F(PressureWatchTest, NoValueProvesNothing) {
  watch.test_is_over();
  read(std::nullopt);
  EXPECT_TRUE(watch.stands());
}

TEST_F(PressureWatchTest, APersonsWordHoldsUntilTheNextTestIsOver) {
  watch.test_is_over();
  read(30e3);  // a sensor that no longer reads nothing
  watch.clear();
  for (int i = 0; i < 20; ++i) read(30e3, 1s);
  EXPECT_FALSE(watch.stands());
  watch.test_is_over();
  EXPECT_TRUE(watch.stands());
}

TEST_F(PressureWatchTest, AnIdleBenchThatStaysUnderPressureIsNoticed) {
  read(300e3);
  read(300e3, 9s);
  EXPECT_FALSE(watch.stands()) << "it may still be venting";
  read(300e3, 2s);
  EXPECT_TRUE(watch.stands());
}

TEST_F(PressureWatchTest, ABenchThatCannotReadItClaimsNothing) {
  std::erase_if(bench.channels, [](const ChannelDefinition& channel) {
    return channel.facts.role == Role::discharge_pressure;
  });
  watch.test_is_over();
  EXPECT_FALSE(watch.stands());
}

}  // namespace
}  // namespace endgate::tests

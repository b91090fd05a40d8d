// The bench's own millisecond counter and the ways it can misbehave.

#include "tests/simbench/instruments_bench.h"

namespace simbench {
namespace {

TEST(BenchCounter, CountsBenchTimeNotSteadyTime) {
  TestBench bench;
  for (int i = 0; i < 100; ++i) bench.instruments.advance(0.02, 0.002);
  EXPECT_EQ(bench.counter_ms(), 2000U);
}

TEST(BenchCounter, StaysOnItsMillisecondOverManySmallSteps) {
  BenchCounter counter({});
  for (int i = 0; i < 600'000; ++i) counter.advance(0.001);
  EXPECT_EQ(counter.value_ms(), 600'000U);
}

TEST(BenchCounter, WrapsAt32Bits) {
  BenchCounter counter({.start_ms = 0xffffffffU - 9U});
  counter.advance(0.009);
  EXPECT_EQ(counter.value_ms(), 0xffffffffU);
  counter.advance(0.001);
  EXPECT_EQ(counter.value_ms(), 0U);
}

TEST(BenchCounter, FreezesWhenAsked) {
  BenchCounter counter({.freeze_at_s = 2});
  counter.advance(1.5);
  EXPECT_EQ(counter.value_ms(), 1500U);
  counter.advance(7);
  EXPECT_EQ(counter.value_ms(), 2000U);
}

TEST(BenchCounter, JumpsEitherWay) {
  for (const std::int64_t jump_ms : {5000, -700}) {
    BenchCounter counter({.jump_at_s = 1, .jump_ms = jump_ms});
    counter.advance(0.9);
    EXPECT_EQ(counter.value_ms(), 900U);
    counter.advance(0.2);
    EXPECT_EQ(counter.value_ms(), 1100 + jump_ms);
  }
}

TEST(BenchCounter, RestartsAtZeroWhenAsked) {
  BenchCounter counter({.start_ms = 40'000, .restart_at_s = 3});
  counter.advance(2);
  EXPECT_EQ(counter.value_ms(), 42'000U);
  counter.advance(1.25);
  EXPECT_EQ(counter.value_ms(), 250U);
}

TEST(BenchCounter, RestartsWithThePowerUnlessItIsBuffered) {
  for (const bool restarts : {true, false}) {
    InstrumentsOptions options;
    options.counter.restart_on_power_cycle = restarts;
    TestBench bench(options);
    bench.wait(2);
    bench.instruments.power_cycle();
    bench.wait(0.5);
    EXPECT_EQ(bench.counter_ms(), restarts ? 500U : 2500U);
  }
}

}  // namespace
}  // namespace simbench

#include "daemon/bench/waveform_recorder.h"

#include <gtest/gtest.h>

#include "daemon/links/sample_block.h"
#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using analysis::RawChannel;
using analysis::StepKind;
using analysis::StepMark;

constexpr std::int64_t kPeriodNs = 100'000;  // 10 kHz
constexpr std::int64_t kBlockUs = 10'000;    // 100 samples
constexpr std::int64_t kAhead = 3'000'000;   // bench time over device time

WaveformDefinition waveform(double burst_s = 0.1) {
  WaveformDefinition made;
  made.source.column = 0;
  made.source.type = RegisterType::i16;
  made.facts.id = "motor_current";
  made.facts.burst_s = burst_s;
  return made;
}

StepMark hold(const char* id, std::int64_t start_us, std::optional<std::int64_t> ready_us) {
  StepMark mark;
  mark.id = id;
  mark.kind = StepKind::hold;
  mark.start_us = start_us;
  mark.ready_us = ready_us;
  return mark;
}

// A stream of blocks numbered by their device time.
class WaveformRecorderTest : public ::testing::Test {
 protected:
  WaveformRecorder recorder{waveform(), 1.0};
  std::int64_t device_us = 0;

  Frame next(std::int64_t ahead_us = kAhead, std::size_t samples = 100) {
    auto block = std::make_shared<SampleBlock>();
    block->first_us = device_us;
    block->period_ns = kPeriodNs;
    block->columns = {{SampleType::int16, std::vector<std::int32_t>(samples)}};
    for (std::size_t i = 0; i < samples; ++i)
      block->columns[0].raw[i] = static_cast<std::int32_t>(device_us / 1000 + 1);
    Frame frame;
    frame.waveform.push_back({device_us + ahead_us, block, 0});
    device_us += static_cast<std::int64_t>(samples) * kPeriodNs / 1000;
    return frame;
  }
  void listen(const StepMark& mark, int blocks) {
    for (int i = 0; i < blocks; ++i) recorder.on_frame(next(), &mark);
  }
};

TEST_F(WaveformRecorderTest, KeepsTheFirstBurstAndTheNewestWholeOneOfAHold) {
  const StepMark mark = hold("hold_0", kAhead, kAhead);
  listen(mark, 100 + 10 + 25);  // settles for 1 s; then one burst, two more and half of a fourth
  const RawChannel kept = recorder.finish().value();
  EXPECT_EQ(kept.id, "motor_current");
  ASSERT_EQ(kept.raw.size(), 2000u);
  EXPECT_EQ(kept.time_us.front(), kAhead + 1'000'000);
  EXPECT_EQ(kept.time_us[999], kAhead + 1'099'900);
  EXPECT_EQ(kept.time_us[1000], kAhead + 1'200'000);
  EXPECT_EQ(kept.raw.front(), 1001);
  EXPECT_EQ(kept.raw[1000], 1201);
  EXPECT_EQ(kept.quality, std::vector(2000, analysis::Quality::good));
}

TEST_F(WaveformRecorderTest, KeepsNothingOutsideSettledHolds) {
  StepMark warm_up = hold("warm_up", kAhead, kAhead);
  warm_up.kind = StepKind::warm_up;
  listen(warm_up, 300);
  listen(hold("hold_0", kAhead, std::nullopt), 300);
  listen(hold("hold_200", kAhead + device_us, kAhead + device_us), 90);
  recorder.on_frame(next(), nullptr);
  EXPECT_TRUE(recorder.finish().value().raw.empty());
}

TEST_F(WaveformRecorderTest, ALongHoldKeepsNoMoreThanAShortOne_WR1) {
  for (const char* id : {"hold_0", "hold_200"}) {
    const std::int64_t now = kAhead + device_us;
    listen(hold(id, now, now), 2000);
  }
  EXPECT_EQ(recorder.finish().value().raw.size(), 4000u);
}

TEST_F(WaveformRecorderTest, ATestOfManyHoldsKeepsNoMoreThanItsBound_WR1) {
  recorder = WaveformRecorder(waveform(2), 0);
  for (int i = 0; i < 20; ++i) {
    const std::int64_t now = kAhead + device_us;
    listen(hold("hold", now, now), 450);
  }
  const std::size_t size = recorder.finish().value().raw.size();
  EXPECT_LE(size, WaveformRecorder::kMostSamples);
  EXPECT_GT(size, WaveformRecorder::kMostSamples - 40'000);
}

TEST_F(WaveformRecorderTest, TimesInsideABurstAreThoseOfTheSampleClock_WR2) {
  const StepMark mark = hold("hold_0", kAhead, kAhead - 1'000'000);
  for (int i = 0; i < 10; ++i) recorder.on_frame(next(kAhead + 7 * i), &mark);
  const RawChannel kept = recorder.finish().value();
  ASSERT_EQ(kept.time_us.size(), 1000u);
  for (std::size_t i = 1; i < kept.time_us.size(); ++i)
    ASSERT_EQ(kept.time_us[i] - kept.time_us[i - 1], 100) << i;
}

TEST_F(WaveformRecorderTest, ABurstThatWouldStepBackIsDropped_WR3) {
  const StepMark mark = hold("hold_0", kAhead, kAhead - 1'000'000);
  listen(mark, 10);
  for (int i = 0; i < 10; ++i) recorder.on_frame(next(kAhead - 90'000), &mark);
  EXPECT_EQ(recorder.finish().value().raw.size(), 1000u);
}

TEST_F(WaveformRecorderTest, AMissingBlockBeginsTheBurstAnew_WR4) {
  const StepMark mark = hold("hold_0", kAhead, kAhead - 1'000'000);
  listen(mark, 6);
  device_us += kBlockUs;
  listen(mark, 9);
  EXPECT_TRUE(WaveformRecorder(recorder).finish().value().raw.empty());
  listen(mark, 1);
  const RawChannel kept = recorder.finish().value();
  ASSERT_EQ(kept.raw.size(), 1000u);
  EXPECT_EQ(kept.raw.front(), 71);
}

TEST_F(WaveformRecorderTest, WithoutAWaveformOnTheBenchThereIsNoColumn) {
  WaveformRecorder none(std::nullopt, 1);
  const StepMark mark = hold("hold_0", kAhead, kAhead);
  none.on_frame(next(), &mark);
  EXPECT_FALSE(none.finish().has_value());
}

}  // namespace
}  // namespace endgate::tests

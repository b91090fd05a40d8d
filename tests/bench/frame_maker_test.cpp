#include "daemon/bench/frame_maker.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <bit>

#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using namespace std::chrono_literals;
using analysis::Quality;

class FrameMakerTest : public ::testing::Test {
 protected:
  BenchDefinition bench = made_bench();
  std::vector<std::uint16_t> words = std::vector<std::uint16_t>(18, 0);
  std::chrono::steady_clock::time_point now{1000s};
  std::optional<FrameMaker> maker;

  std::optional<Picture> make(std::vector<std::size_t> channels = {0, 1, 2, 3, 4, 5, 6}) {
    if (!maker) maker.emplace(bench, std::vector<analysis::ChannelCalibration>{});
    now += 20ms;
    words[1] = static_cast<std::uint16_t>(words[1] + 20);
    RoundAnswer answer;
    answer.image.put({0, 4, 0, 18}, words);
    answer.channels = std::move(channels);
    answer.sent = now - 1ms;
    answer.arrived = now;
    return maker->make(answer);
  }
};

TEST_F(FrameMakerTest, TurnsCountsIntoSi) {
  words[3] = 22'500;
  words[4] = 10'000;
  const auto picture = make();
  EXPECT_DOUBLE_EQ(*picture->frame.value(Role::discharge_pressure), 400e3);
  EXPECT_DOUBLE_EQ(*picture->frame.value(Role::flow), 1e-3);
  EXPECT_EQ(picture->frame.readings.at(0).raw, 22'500);
}

TEST_F(FrameMakerTest, AppliesTheCalibrationAfterTheNominalScale) {
  words[3] = 22'500;
  std::vector<analysis::ChannelCalibration> calibrations(7);
  calibrations[0].gain = 1.01;
  calibrations[0].offset_si = -500;
  maker.emplace(bench, calibrations);
  EXPECT_DOUBLE_EQ(*make()->frame.value(Role::discharge_pressure), 1.01 * 400e3 - 500);
}

TEST_F(FrameMakerTest, ReadsInterlockBitsAndAbsentOnesStayAbsent) {
  words[2] = 0b0'1011;
  bench.interlocks.relay_latched_open.reset();
  bench.interlocks.lease_live->inverted = true;
  const Interlocks locks = make()->frame.interlocks;
  EXPECT_EQ(locks.cover_closed, true);
  EXPECT_EQ(locks.emergency_stop_clear, true);
  EXPECT_EQ(locks.motor_relay_closed, false);
  EXPECT_EQ(locks.lease_live, false);
  EXPECT_EQ(locks.relay_latched_open, std::nullopt);
}

TEST_F(FrameMakerTest, TakesANoValueCodeForNoValue) {
  words[4] = 65535;
  const auto picture = make();
  EXPECT_EQ(picture->frame.readings.at(1).quality, Quality::no_value);
  EXPECT_FALSE(picture->frame.value(Role::flow));
}

TEST_F(FrameMakerTest, ReadsSignedNumbersAndEitherWordOrder) {
  words[6] = 0xfff6;
  bench.channels[3].source.type = RegisterType::i16;
  words[10] = 0x0001;
  words[11] = 0xfffe;
  bench.channels[5].source.type = RegisterType::i32;
  bench.channels[5].source.address = 10;
  bench.channels[5].source.word_order = WordOrder::low_first;
  const auto picture = make();
  EXPECT_EQ(picture->frame.readings.at(3).raw, -10);
  EXPECT_EQ(picture->frame.readings.at(5).raw, static_cast<std::int32_t>(0xfffe0001));
}

TEST_F(FrameMakerTest, KeepsTheBitsOfAFloatAndRefusesNotANumber) {
  bench.channels[1].source.type = RegisterType::f32;
  bench.channels[1].source.address = 10;
  bench.channels[1].facts.scale = 1;
  const auto put = [&](float value) {
    const auto bits = std::bit_cast<std::uint32_t>(value);
    words[10] = static_cast<std::uint16_t>(bits >> 16);
    words[11] = static_cast<std::uint16_t>(bits);
    return bits;
  };
  const std::uint32_t bits = put(1.5f);
  const auto good = make();
  EXPECT_EQ(good->frame.readings.at(1).raw, bits);
  EXPECT_EQ(good->frame.value(Role::flow), 1.5);
  put(std::numeric_limits<float>::quiet_NaN());
  EXPECT_EQ(make()->frame.readings.at(1).quality, Quality::no_value);
}

TEST_F(FrameMakerTest, RemembersASlowChannelUntilItIsSilent) {
  words[9] = 600;
  make();
  EXPECT_EQ(make({0})->frame.value(Role::head_temperature), 303.15);
  for (int i = 0; i < 23; ++i) make({0});
  EXPECT_TRUE(make({0})->frame.value(Role::head_temperature));  // 0.2 s period + 0.3 s
  EXPECT_FALSE(make({0})->frame.value(Role::head_temperature));
  EXPECT_EQ(maker->silent_channel(now), 1u);
}

TEST_F(FrameMakerTest, MakesNothingOfARoundWithoutItsCounter) {
  maker.emplace(bench, std::vector<analysis::ChannelCalibration>{});
  RoundAnswer answer;
  answer.image.put({0, 4, 0, 18}, {});  // an exception answer
  answer.channels = {0};
  EXPECT_FALSE(maker->make(answer));
}

TEST_F(FrameMakerTest, ReadsBackActuatorsInSi) {
  words[15] = 4000;
  const auto picture = make();
  EXPECT_EQ(picture->read_backs.at(4), 400e3);
  EXPECT_EQ(picture->read_backs.at(5), std::nullopt);
}

TEST_F(FrameMakerTest, TellsAClockFault) {
  for (int i = 0; i < 10; ++i) EXPECT_EQ(make()->clock_fault, "");
  words[1] = 3;
  EXPECT_NE(make()->clock_fault, "");
}

TEST_F(FrameMakerTest, TakesACurrentOutsideTheLoopForAFault) {
  bench.channels[0].source.fault_below_raw = 5760;  // 3.6 mA of 6400 at 4 mA
  bench.channels[0].source.fault_above_raw = 33'600;
  words[3] = 5759;
  EXPECT_EQ(make()->frame.readings.at(0).quality, Quality::no_value);
  words[3] = 5760;
  EXPECT_EQ(make()->frame.readings.at(0).quality, Quality::good);
  words[3] = 33'601;
  EXPECT_EQ(make()->frame.readings.at(0).quality, Quality::no_value);
}

TEST_F(FrameMakerTest, TurnsAWrappingCountIntoSpeed) {
  RegisterSource& source = bench.channels[4].source;
  source.conversion = Conversion::rate_of_count;
  source.no_value = {};
  bench.channels[4].facts.scale = 1.0 / 12;  // twelve teeth
  std::optional<Picture> picture;
  words[7] = 65'500;
  for (int i = 0; i < 30; ++i) {
    words[7] = static_cast<std::uint16_t>(words[7] + 12);
    picture = make();
  }
  EXPECT_DOUBLE_EQ(*picture->frame.value(Role::speed), 50);
  EXPECT_EQ(maker->channels().kind(4), analysis::RawKind::float64);
}

class OtherDeviceTest : public FrameMakerTest {
 protected:
  RoundAnswer answer;

  void SetUp() override {
    DeviceDefinition other;
    other.id = "other";
    bench.devices.push_back(other);
    bench.channels[1].source.device = "other";
  }
  // The counter is heard 4 ms, the other device 10 ms after the question, halfway in between.
  std::optional<Picture> make_both() {
    if (!maker) maker.emplace(bench, std::vector<analysis::ChannelCalibration>{});
    now += 20ms;
    words[1] = static_cast<std::uint16_t>(words[1] + 20);
    answer.image = {};
    answer.image.put({0, 4, 0, 18}, words);
    answer.image.put({1, 4, 0, 18}, words);
    answer.channels = {0, 1};
    answer.sent = now;
    answer.arrived = now + 10ms;
    answer.devices = {{0, now, now + 4ms}, {1, now, now + 10ms}};
    return maker->make(answer);
  }
};

TEST_F(OtherDeviceTest, HasItsSamplesAtTheirOwnTime) {
  const auto picture = make_both();
  EXPECT_EQ(picture->frame.readings.at(0).time_us, picture->frame.bench_time_us);
  EXPECT_EQ(picture->frame.readings.at(1).time_us, picture->frame.bench_time_us + 3000);
}

TEST_F(OtherDeviceTest, WithAClockOfItsOwnIsHeldAgainstTheBenchs) {
  bench.devices[1].time = DeviceTimeDefinition{};
  bench.devices[1].time->counter = source_at(0, RegisterType::u32);
  bench.devices[1].time->counter.device = "other";
  static_cast<void>(make_both());
  const auto second = make_both();
  const auto third = make_both();
  EXPECT_EQ(*third->frame.readings.at(1).time_us - *second->frame.readings.at(1).time_us, 20'000);
}

TEST_F(OtherDeviceTest, ThatStreamsGivesEverySampleItsOwnTime) {
  bench.devices[1].link = LinkKind::sample_stream;
  bench.channels[1].source.column = 0;
  bench.channels[1].source.type = RegisterType::i16;
  maker.emplace(bench, std::vector<analysis::ChannelCalibration>{});
  auto block = std::make_shared<SampleBlock>();
  block->first_us = 5'000'000;
  block->period_ns = 50'000;
  block->columns = {{SampleType::int16, {10, 20, 30}}};
  now += 20ms;
  answer.image.put({0, 4, 0, 18}, words);
  answer.channels = {0, 1};
  answer.sent = answer.arrived = now;
  answer.devices = {{0, now, now}, {1, now, now, {block}}};
  const Frame frame = maker->make(answer)->frame;
  ASSERT_EQ(frame.readings.size(), 4u);
  EXPECT_EQ(frame.readings[3].raw, 30);
  EXPECT_EQ(frame.readings[3].time_us, frame.bench_time_us);
  EXPECT_EQ(frame.readings[1].time_us, frame.bench_time_us - 100);
}

// A value that was missing within a block is no missing value once a good one came behind it.
TEST_F(OtherDeviceTest, ThatStreamsIsKnownByItsNewestSample) {
  bench.devices[1].link = LinkKind::sample_stream;
  bench.channels[1].source.column = 0;
  bench.channels[1].source.type = RegisterType::i16;
  bench.channels[1].source.no_value = {-1};
  bench.channels[1].facts.scale = 1;
  maker.emplace(bench, std::vector<analysis::ChannelCalibration>{});
  const auto value_after = [&](std::vector<std::int32_t> samples) {
    auto block = std::make_shared<SampleBlock>();
    block->first_us = 5'000'000;
    block->period_ns = 50'000;
    block->columns = {{SampleType::int16, std::move(samples)}};
    now += 20ms;
    words[1] = static_cast<std::uint16_t>(words[1] + 20);
    answer.image = {};
    answer.image.put({0, 4, 0, 18}, words);
    answer.channels = {0, 1};
    answer.sent = answer.arrived = now;
    answer.devices = {{0, now, now}, {1, now, now, {block}}};
    return maker->make(answer)->frame.value(Role::flow);
  };
  EXPECT_EQ(value_after({10, -1, 30}), 30);
  EXPECT_FALSE(value_after({10, 20, -1}));
}

// Before its round is whole; the counter of the frame before and the steady clock give its time.
TEST_F(OtherDeviceTest, HasItsPartWithItsOwnTimeBeforeTheRoundIsWhole) {
  const DeviceSpan span{1, 4, 0, 18};
  const SpanAnswer early{words, 0, now, now};
  EXPECT_TRUE((maker.emplace(bench, std::vector<analysis::ChannelCalibration>{}),
               maker->part(span, early).values.empty()))
      << "no bench time yet";
  const auto picture = make_both();  // its time is that of 2 ms after `now`
  words[4] = 20'000;
  const Part part = maker->part(span, {words, 0, now + 20ms, now + 24ms});
  ASSERT_EQ(part.values.size(), 1u);
  EXPECT_EQ(part.values[0].channel, 1u);
  EXPECT_DOUBLE_EQ(*part.values[0].value_si, 2e-3);
  EXPECT_EQ(part.values[0].time_us, picture->frame.bench_time_us + 20'000);
  EXPECT_FALSE(part.interlocks.cover_closed) << "those are of the other device";
  EXPECT_TRUE(maker->part({0, 4, 0, 18}, early).interlocks.cover_closed);
}

TEST_F(OtherDeviceTest, GivesEverySampleOfABlockAsItComesItsOwnTime) {
  bench.devices[1].link = LinkKind::sample_stream;
  bench.channels[1].source.column = 0;
  bench.channels[1].source.type = RegisterType::i16;
  bench.channels[1].source.no_value = {-1};
  static_cast<void>(make_both());
  SampleBlock block;
  block.first_us = 5'000'000;
  block.period_ns = 1'000'000;
  block.columns = {{SampleType::int16, {10'000, -1, 30'000}}};
  const auto placed = now + 2ms;
  const Part part = maker->part(1, block, placed + 10ms);
  ASSERT_EQ(part.values.size(), 3u);
  EXPECT_DOUBLE_EQ(*part.values[0].value_si, 1e-3);
  EXPECT_FALSE(part.values[1].value_si);
  EXPECT_EQ(part.values[2].time_us - part.values[0].time_us, 2000);
  EXPECT_TRUE(maker->part(0, block, placed).values.empty());
}

TEST_F(OtherDeviceTest, ThatStreamsTheMotorsCurrentBringsItInBlocksAndNotAsReadings) {
  bench.devices[1].link = LinkKind::sample_stream;
  bench.channels[1].source.device = "io";
  WaveformDefinition waveform;
  waveform.source.device = "other";
  waveform.source.column = 1;
  waveform.source.type = RegisterType::i16;
  bench.current_waveform = waveform;
  maker.emplace(bench, std::vector<analysis::ChannelCalibration>{});
  auto block = std::make_shared<SampleBlock>();
  block->first_us = 5'000'000;
  block->period_ns = 50'000;
  block->columns = {{SampleType::int16, {1, 2, 3}}, {SampleType::int16, {10, 20, 30}}};
  auto other = std::make_shared<SampleBlock>(*block);
  other->first_us = 5'000'150;
  other->columns[1].type = SampleType::int32;  // not what the file says
  now += 20ms;
  answer.image.put({0, 4, 0, 18}, words);
  answer.channels = {0};
  answer.sent = answer.arrived = now;
  answer.devices = {{0, now, now}, {1, now, now, {block, other}}};
  const Frame frame = maker->make(answer)->frame;
  EXPECT_EQ(frame.readings.size(), 1u);
  ASSERT_EQ(frame.waveform.size(), 1u);
  EXPECT_EQ(frame.waveform[0].block, block);
  EXPECT_EQ(frame.waveform[0].column, 1u);
  EXPECT_EQ(frame.waveform[0].first_us, frame.bench_time_us - 250);
}

TEST_F(FrameMakerTest, ReadsADoubleOfFourRegisters) {
  bench.channels[1].source.type = RegisterType::f64;
  bench.channels[1].source.address = 8;
  bench.channels[1].facts.scale = 1;
  const auto bits = std::bit_cast<std::uint64_t>(-12.75);
  for (int i = 0; i < 4; ++i)
    words[static_cast<std::size_t>(8 + i)] = static_cast<std::uint16_t>(bits >> (48 - 16 * i));
  const auto picture = make();
  EXPECT_EQ(picture->frame.value(Role::flow), -12.75);
  EXPECT_EQ(maker->channels().kind(1), analysis::RawKind::float64);
}

}  // namespace
}  // namespace endgate::tests

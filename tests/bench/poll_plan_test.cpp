#include "daemon/bench/poll_plan.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using ::testing::ElementsAre;

TEST(MergeSpans, TakesNeighboursWithinSixteenRegistersIntoOneRequest) {
  const std::vector<DeviceSpan> merged =
      merge_spans({{0, 4, 20, 2}, {0, 4, 0, 2}, {0, 4, 3, 1}, {0, 4, 2, 1}});
  EXPECT_THAT(merged, ElementsAre(DeviceSpan{0, 4, 0, 22}));
}

TEST(MergeSpans, LeavesAWiderGapUnread) {
  EXPECT_THAT(merge_spans({{0, 4, 0, 1}, {0, 4, 18, 1}}),
              ElementsAre(DeviceSpan{0, 4, 0, 1}, DeviceSpan{0, 4, 18, 1}));
  EXPECT_THAT(merge_spans({{0, 4, 0, 1}, {0, 4, 17, 1}}), ElementsAre(DeviceSpan{0, 4, 0, 18}));
}

TEST(MergeSpans, KeepsDevicesAndFunctionsApart) {
  EXPECT_EQ(merge_spans({{0, 4, 0, 1}, {0, 3, 1, 1}, {1, 4, 1, 1}}).size(), 3u);
}

TEST(MergeSpans, NeverAsksForMoreThanOneRequestCarries) {
  std::vector<DeviceSpan> spans;
  for (std::uint16_t address = 0; address < 300; address = static_cast<std::uint16_t>(address + 2))
    spans.push_back({0, 4, address, 2});
  const auto merged = merge_spans(spans);
  EXPECT_EQ(merged.size(), 3u);
  for (const DeviceSpan& span : merged) EXPECT_LE(span.count, 120);
}

TEST(MergeSpans, ReadsNoHoleOfADeviceThatHasNone) {
  EXPECT_THAT(merge_spans({{0, 4, 0, 2}, {0, 4, 2, 1}, {0, 4, 4, 1}}, {{0, 120}}),
              ElementsAre(DeviceSpan{0, 4, 0, 3}, DeviceSpan{0, 4, 4, 1}));
}

TEST(MergeSpans, AsksADeviceForNoMoreThanItTakesAtATime) {
  EXPECT_THAT(merge_spans({{0, 4, 0, 2}, {0, 4, 2, 2}, {0, 4, 4, 2}}, {{16, 4}}),
              ElementsAre(DeviceSpan{0, 4, 0, 4}, DeviceSpan{0, 4, 4, 2}));
}

TEST(PollPlan, ReadsCounterInterlocksAndFastChannelsInOneRequest) {
  PollPlan plan(made_bench());
  static_cast<void>(plan.round(0));
  const PollRound round = plan.round(1);
  EXPECT_THAT(round.spans, ElementsAre(DeviceSpan{0, 4, 0, 16}));
  EXPECT_THAT(round.channels, ElementsAre(0, 1, 2, 3, 4, 6));
}

TEST(PollPlan, SpendsNoRequestOnReadingBackTheOwnerWord) {
  BenchDefinition bench = made_bench();
  bench.actuators[0].read_back = source_at(100);
  bench.actuators[0].read_back->function = 3;
  EXPECT_EQ(PollPlan(bench).round(0).spans.size(), 1u);
}

TEST(PollPlan, AsksForASlowChannelAtItsOwnPeriod) {
  PollPlan plan(made_bench());
  int asked = 0;
  for (int tick = 0; tick < 100; ++tick)
    for (const std::size_t channel : plan.round(tick).channels) asked += channel == 5 ? 1 : 0;
  EXPECT_EQ(asked, 10);  // 0.2 s of 0.02 s
}

TEST(PollPlan, CatchesUpWithASlowChannelWhoseTickWasSkipped) {
  PollPlan plan(made_bench());
  static_cast<void>(plan.round(0));
  EXPECT_THAT(plan.round(13).channels, ::testing::Contains(5u));  // tick 10 was skipped
  EXPECT_THAT(plan.round(14).channels, ::testing::Not(::testing::Contains(5u)));
  EXPECT_THAT(plan.round(20).channels, ::testing::Contains(5u));
}

TEST(PollPlan, TicksFasterOnTheSteadyClockWhenTheBenchRunsFast) {
  BenchDefinition bench = made_bench();
  EXPECT_EQ(PollPlan(bench).tick_steady(), std::chrono::milliseconds(20));
  bench.clock->declared_rate = 20;
  EXPECT_EQ(PollPlan(bench).tick_steady(), std::chrono::milliseconds(1));
  EXPECT_DOUBLE_EQ(PollPlan(bench).tick_s(), 0.02);
}

TEST(PollPlan, AsksEachDeviceForItsOwnRegisters) {
  BenchDefinition bench = made_bench();
  DeviceDefinition meter;
  meter.id = "meter";
  bench.devices.push_back(meter);
  bench.channels[1].source.device = "meter";
  const PollRound round = PollPlan(bench).round(0);
  EXPECT_THAT(round.spans, ElementsAre(DeviceSpan{0, 4, 0, 16}, DeviceSpan{1, 4, 4, 1}));
}

TEST(MergeSpans, KeepsUnitsOfOneLineApart) {
  EXPECT_EQ(merge_spans({{0, 4, 0, 1, 1}, {0, 4, 1, 1, 2}, {0, 4, 1, 1, 1}}).size(), 2u);
}

TEST(MergeSpans, AsksAnInstrumentNothingTooMany) {
  EXPECT_THAT(merge_spans({{0, 4, 0, 4}, {0, 4, 8, 4}, {0, 4, 12, 4}}, {{0, 120}}),
              ElementsAre(DeviceSpan{0, 4, 0, 4}, DeviceSpan{0, 4, 8, 8}));
}

// So that motor off goes between two of them, and the deadline is that of one query.
TEST(PollPlan, AsksAnInstrumentWithoutJoinedQueriesEachByItself) {
  BenchDefinition bench = made_bench();
  DeviceDefinition supply;
  supply.id = "supply";
  supply.link = LinkKind::scpi_tcp;
  bench.devices.push_back(supply);
  for (const std::size_t channel : {2u, 3u}) {
    bench.channels[channel].source = source_at(static_cast<std::uint16_t>(4 * channel - 8));
    bench.channels[channel].source.type = RegisterType::f64;
    bench.channels[channel].source.device = "supply";
  }
  EXPECT_THAT(PollPlan(bench).round(0).spans,
              ElementsAre(DeviceSpan{0, 4, 0, 16}, DeviceSpan{1, 4, 0, 4}, DeviceSpan{1, 4, 4, 4}));
  bench.devices[1].join_queries = true;
  EXPECT_THAT(PollPlan(bench).round(0).spans,
              ElementsAre(DeviceSpan{0, 4, 0, 16}, DeviceSpan{1, 4, 0, 8}));
}

TEST(PollPlan, AsksAStreamForItsTimeAloneHoweverManyColumnsItHas) {
  BenchDefinition bench = made_bench();
  DeviceDefinition stream;
  stream.id = "daq";
  stream.link = LinkKind::sample_stream;
  bench.devices.push_back(stream);
  for (const std::size_t channel : {2u, 3u}) {
    bench.channels[channel].source.device = "daq";
    bench.channels[channel].source.column = static_cast<int>(channel);
    bench.channels[channel].facts.period_s = 5e-5;
  }
  PollPlan plan(bench);
  EXPECT_DOUBLE_EQ(plan.tick_s(), 0.02);
  EXPECT_THAT(plan.round(0).spans, ElementsAre(DeviceSpan{0, 4, 0, 16}, DeviceSpan{1, 4, 0, 4}));
}

TEST(PollPlan, AsksForTheWaveformInEveryRound) {
  BenchDefinition bench = made_bench();
  DeviceDefinition stream;
  stream.id = "daq";
  stream.link = LinkKind::sample_stream;
  bench.devices.push_back(stream);
  WaveformDefinition waveform;
  waveform.source.device = "daq";
  waveform.source.column = 0;
  bench.current_waveform = waveform;
  PollPlan plan(bench);
  for (const std::int64_t tick : {0, 1, 2})
    EXPECT_THAT(plan.round(tick).spans, testing::Contains(DeviceSpan{1, 4, 0, 4})) << tick;
}

}  // namespace
}  // namespace endgate::tests

#include <gtest/gtest.h>

#include "analysis/calibration.h"
#include "analysis/channel_health.h"
#include "tests/analysis/measure_published.h"

namespace endgate::analysis {
namespace {

ChannelFacts flow_facts() {
  ChannelFacts facts;
  facts.id = "flow";
  facts.role = Role::flow;
  facts.range_min_si = -10;
  facts.range_max_si = 10000;
  return facts;
}

// One hold of ten seconds, ready after two, with a sample every 20 ms.
RawTrace one_hold() {
  RawTrace trace;
  StepMark hold;
  hold.id = "hold_400";
  hold.kind = StepKind::hold;
  hold.start_us = 1'000'000;
  hold.ready_us = 3'000'000;
  hold.end_us = 11'000'000;
  trace.steps = {hold};
  RawChannel channel;
  channel.id = "flow";
  for (int i = 0; i <= 500; ++i) {
    channel.time_us.push_back(1'000'000 + i * 20'000);
    channel.raw.push_back(1000 + i % 3);
    channel.quality.push_back(Quality::good);
  }
  trace.channels = {channel};
  return trace;
}

HealthState state_of(const RawTrace& trace, const ChannelFacts& facts = flow_facts()) {
  return health_of(facts, trace).state;
}

TEST(ChannelHealth, IsGoodWhenNothingIsWrong) {
  EXPECT_EQ(state_of(one_hold()), HealthState::good);
}

TEST(ChannelHealth, NamesAChannelThatIsNotThere) {
  RawTrace trace = one_hold();
  trace.channels.front().id = "other";
  EXPECT_EQ(state_of(trace), HealthState::missing);
  trace = one_hold();
  trace.channels.front().raw.pop_back();
  EXPECT_EQ(health_of(flow_facts(), trace).detail, "columns of different length");
}

TEST(ChannelHealth, SaysWhenAndHowLongAChannelWasSilent) {
  RawTrace trace = one_hold();
  for (std::size_t i = 200; i < 220; ++i) trace.channels[0].quality[i] = Quality::not_arrived;
  const ChannelHealth health = health_of(flow_facts(), trace);
  EXPECT_EQ(health.state, HealthState::silent);
  EXPECT_EQ(health.detail, "silent for 0.42 s from 3.98 s");
  for (std::size_t i = 200; i < 220; ++i) trace.channels[0].quality[i] = Quality::no_value;
  EXPECT_EQ(state_of(trace), HealthState::no_value);
}

TEST(ChannelHealth, AShortGapIsNoSilence) {
  RawTrace trace = one_hold();
  for (std::size_t i = 200; i < 210; ++i) trace.channels[0].quality[i] = Quality::not_arrived;
  EXPECT_EQ(state_of(trace), HealthState::good);
}

TEST(ChannelHealth, AChannelThatEndsBeforeItsStepIsSilent) {
  RawTrace trace = one_hold();
  trace.channels[0].time_us.resize(400);
  trace.channels[0].raw.resize(400);
  trace.channels[0].quality.resize(400);
  EXPECT_EQ(state_of(trace), HealthState::silent);
}

TEST(ChannelHealth, RangeCountsFromThreeSamplesInARowAfterReady) {
  RawTrace trace = one_hold();
  for (std::size_t i = 50; i < 60; ++i) trace.channels[0].raw[i] = 20000;  // before ready
  EXPECT_EQ(state_of(trace), HealthState::good);
  trace.channels[0].raw[300] = trace.channels[0].raw[301] = 20000;
  EXPECT_EQ(state_of(trace), HealthState::good);
  trace.channels[0].raw[302] = 20000;
  EXPECT_EQ(state_of(trace), HealthState::out_of_range);
}

TEST(ChannelHealth, ASpikeIsForgivenButNotTwo) {
  ChannelFacts facts = flow_facts();
  facts.max_rate_si_s = 1000;
  RawTrace trace = one_hold();
  trace.channels[0].raw[300] = 5000;
  EXPECT_EQ(state_of(trace, facts), HealthState::good);
  trace.channels[0].raw[350] = 5000;
  EXPECT_EQ(state_of(trace, facts), HealthState::too_fast);
}

TEST(ChannelHealth, StuckIsFoundOnlyWhileTheMotorRuns) {
  ChannelFacts facts = flow_facts();
  facts.stuck_after_s = 1;
  RawTrace trace = one_hold();
  for (std::size_t i = 100; i < 160; ++i) trace.channels[0].raw[i] = 7;
  EXPECT_EQ(state_of(trace, facts), HealthState::stuck);
  facts.role = Role::discharge_pressure;
  trace.steps[0].kind = StepKind::back_leak;
  EXPECT_EQ(state_of(trace, facts), HealthState::good);
}

TEST(ChannelHealth, TimeThatStandsStillIsSick) {
  RawTrace trace = one_hold();
  trace.channels[0].time_us[200] = trace.channels[0].time_us[199];
  EXPECT_EQ(state_of(trace), HealthState::time_sick);
}

TEST(ChannelHealth, AStepThatWasBrokenOffAccusesNoChannel) {
  RawTrace trace = one_hold();
  for (std::size_t i = 200; i < 300; ++i) trace.channels[0].quality[i] = Quality::not_arrived;
  trace.steps[0].end = StepEnd::broken_off;
  EXPECT_EQ(state_of(trace), HealthState::good);
}

TEST(Calibration, TurnsACurrentLoopIntoThePublishedPressure) {
  BenchFacts bench;
  ChannelFacts facts;
  facts.id = "p";
  facts.role = Role::barometric_pressure;
  facts.scale = 1000.0 / 16;  // kPa per mA
  facts.offset_si = -250;
  bench.channels = {facts};
  RawChannel channel;
  channel.id = "p";
  channel.kind = RawKind::float64;
  channel.time_us = {0};
  channel.raw = {std::bit_cast<std::int64_t>(published::number("current_loop.milliampere"))};
  channel.quality = {Quality::good};
  RawTrace trace;
  trace.channels = {channel};
  const SamplesByRole samples = calibrate(trace, bench);
  EXPECT_NEAR(samples[index_of(Role::barometric_pressure)].column.value.at(0),
              published::number("current_loop.kilopascal"), 1e-12);
}

TEST(Calibration, ReadsCountsAndFloatBits) {
  EXPECT_DOUBLE_EQ(number_of(RawKind::count, -32768), -32768);
  EXPECT_DOUBLE_EQ(number_of(RawKind::float32, std::bit_cast<std::uint32_t>(1.5f)), 1.5);
  EXPECT_DOUBLE_EQ(number_of(RawKind::float64, std::bit_cast<std::int64_t>(-2.25)), -2.25);
}

TEST(Calibration, AppliesGainAndOffsetOfTheCertificate) {
  BenchFacts bench;
  ChannelFacts facts;
  facts.id = "v";
  facts.role = Role::supply_voltage;
  facts.scale = 0.001;
  facts.calibration.gain = 1.01;
  facts.calibration.offset_si = -0.02;
  bench.channels = {facts};
  RawChannel channel{"v", RawKind::count, {0}, {13500}, {Quality::good}};
  RawTrace trace;
  trace.channels = {channel};
  EXPECT_NEAR(calibrate(trace, bench)[index_of(Role::supply_voltage)].column.value.at(0),
              13.5 * 1.01 - 0.02, 1e-12);
}

}  // namespace
}  // namespace endgate::analysis

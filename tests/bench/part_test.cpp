// What one device says is judged when it comes, not when the slowest device of the round has answered.

#include "daemon/bench/part.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/write.hpp>

#include "tests/bench/scripted_bench.h"
#include "tests/links/made_block.h"

namespace endgate::tests {
namespace {

using namespace std::chrono_literals;
using analysis::BreakOff;

constexpr std::size_t kPressureChannel = 0, kCurrentChannel = 3, kHeadChannel = 5;

OverLimit made_limit(Role role, double limit_si, double for_s) {
  OverLimit limit;
  limit.id = "made_limit";
  limit.role = role;
  limit.limit_si = limit_si;
  limit.for_s = for_s;
  return limit;
}

class PartOfATestTest : public ::testing::Test {
 protected:
  BenchDefinition bench = made_bench();
  ModelDefinition model = made_model();
  FrameSource source{bench};
  std::optional<TestRun> run;

  void begin() {
    run.emplace(bench, model, std::vector<analysis::ChannelCalibration>{});
    source.obey(run->begin(source.next()).commands);
    next();
  }
  void next() { source.obey(run->on_frame(source.next()).commands); }
  SequenceOutput hear(std::vector<ReceivedValue> values, Interlocks interlocks = {}) {
    return run->on_part({interlocks, std::move(values)});
  }
  std::int64_t after_ms(int ms) const { return source.now.bench_time_us + 1000 * ms; }
};

TEST_F(PartOfATestTest, TripsBeforeTheFrameIsThere) {
  bench.over_limits = {made_limit(Role::head_temperature, 380, 0)};
  begin();
  EXPECT_TRUE(hear({{kHeadChannel, after_ms(5), 380.0}}).commands.empty());
  const SequenceOutput out = hear({{kHeadChannel, after_ms(9), 381.0}});
  ASSERT_FALSE(out.commands.empty());
  EXPECT_TRUE(is_motor_off(out.commands.front()));
  EXPECT_TRUE(run->making_safe());
}

// 300 ms of a peak stand between two samples that are inside: a frame would show neither.
TEST_F(PartOfATestTest, FindsAPeakInsideABlockAndADipThatEndsIt) {
  bench.over_limits = {made_limit(Role::discharge_pressure, 900e3, 0.3)};
  const auto block = [&](int beyond_from, int beyond_to) {
    std::vector<ReceivedValue> values;
    for (int ms = 0; ms < 500; ++ms)
      values.push_back(
          {kPressureChannel, after_ms(ms), ms >= beyond_from && ms <= beyond_to ? 950e3 : 400e3});
    return values;
  };
  begin();
  static_cast<void>(hear(block(100, 399)));
  EXPECT_FALSE(run->making_safe()) << "299 ms are not 300";
  next();
  EXPECT_FALSE(run->making_safe());
  static_cast<void>(hear(block(100, 400)));
  EXPECT_TRUE(run->making_safe());
}

TEST_F(PartOfATestTest, TheFrameThatBringsAValueAgainJudgesItNoMore) {
  bench.over_limits = {made_limit(Role::discharge_pressure, 900e3, 0.1)};
  begin();
  static_cast<void>(hear({{kPressureChannel, after_ms(1), 950e3}}));
  next();  // of before the block: inside
  static_cast<void>(hear({{kPressureChannel, after_ms(100), 950e3}}));
  EXPECT_TRUE(run->making_safe()) << "what is older is no way back inside";
}

TEST_F(PartOfATestTest, AMissingValueIsNoWayBackInside) {
  bench.over_limits = {made_limit(Role::discharge_pressure, 900e3, 0.1)};
  begin();
  static_cast<void>(hear({{kPressureChannel, after_ms(0), 950e3},
                          {kPressureChannel, after_ms(50), std::nullopt},
                          {kPressureChannel, after_ms(100), 950e3}}));
  EXPECT_TRUE(run->making_safe());
}

// Motor off did not wait for the second channel; whether the unit is to blame is seen in the frame.
TEST_F(PartOfATestTest, ASecondChannelOfTheSameRoundStillConfirmsTheTrip) {
  OverLimit limit = made_limit(Role::head_temperature, 380, 0);
  limit.accuses = analysis::TripAccuses::unit;
  limit.confirm_role = Role::seal_pressure;
  limit.confirm_limit_si = 100;
  bench.over_limits = {limit};
  const auto confirmed_with = [&](double seal_pa) {
    source = FrameSource(bench);
    begin();
    static_cast<void>(hear({{kHeadChannel, after_ms(1), 390.0}}));
    source.seal_reaches_pa = seal_pa;
    source.set(Role::seal_pressure, seal_pa);
    Frame frame = source.next();
    frame.value_si[static_cast<std::size_t>(Role::seal_pressure)] = seal_pa;
    static_cast<void>(run->on_frame(frame));
    frame.value_si[static_cast<std::size_t>(Role::seal_pressure)] = 200;  // too late
    static_cast<void>(run->on_frame(frame));
    return run->finish().trace.trip;
  };
  EXPECT_FALSE(confirmed_with(50)->confirmed);
  EXPECT_TRUE(confirmed_with(200)->confirmed);
  EXPECT_EQ(confirmed_with(200)->confirmed_by, "seal_pressure");
}

TEST_F(PartOfATestTest, NamesAnOpenCoverBeforeWhatFollowsFromIt) {
  bench.over_limits = {made_limit(Role::speed, 60, 0)};
  begin();
  Interlocks open;
  open.cover_closed = false;
  static_cast<void>(hear({{4, after_ms(1), 70.0}}, open));
  EXPECT_EQ(run->finish().trace.break_off, BreakOff::cover_open);
}

TEST_F(PartOfATestTest, AnInputThatIsNotInThePartChangesNothing) {
  bench.actuators.push_back(valve("clamp", 110, 1, 1, {}));
  bench.interlocks.fixture_clamped = status_bit(5);
  begin();
  static_cast<void>(hear({}));  // without a word about the clamp, which is still open
  source.now.interlocks.fixture_clamped = false;
  next();
  EXPECT_FALSE(run->making_safe());
}

TEST_F(PartOfATestTest, ALimitOfSomeStepsCountsInThoseOnly) {
  model.over_limits = {made_limit(Role::head_temperature, 380, 0.1)};
  model.over_limits[0].steps = {"start"};
  begin();
  source.set(Role::head_temperature, 390);
  source.motor_starts = false;
  while (run->progress().index == 0) {
    EXPECT_FALSE(run->making_safe());
    next();
  }
  for (int i = 0; i < 4; ++i) next();
  EXPECT_FALSE(run->making_safe()) << "its time begins with the step";
  for (int i = 0; i < 3; ++i) next();
  const auto trip = run->finish().trace.trip;
  ASSERT_TRUE(trip);
  EXPECT_EQ(trip->limit_id, "made_limit");
}

// A block that arrives just after the start is over holds what the motor drew while it started.
TEST_F(PartOfATestTest, TheStartingCurrentIsNoTripOfTheStepBehindTheStart) {
  bench.channels[kCurrentChannel].source.column = 0;
  OverLimit running = made_limit(Role::supply_current, 50, 0);
  running.only_while_running = true;
  OverLimit of_steps = made_limit(Role::supply_current, 50, 0);
  of_steps.steps = {"warm_up", "hold_0"};
  for (const OverLimit& limit : {running, of_steps}) {
    bench.over_limits = {limit};
    source = FrameSource(bench);
    begin();
    while (run->progress().index < 2) next();
    const std::int64_t begun_us = source.now.bench_time_us;
    static_cast<void>(hear(
        {{kCurrentChannel, begun_us - 60'000, 90.0}, {kCurrentChannel, begun_us - 1'000, 90.0}}));
    source.set(Role::supply_current, 90);
    source.motor_starts = false;  // and nothing newer than the block came
    Frame frame = source.next();
    frame.value_si[static_cast<std::size_t>(Role::supply_current)] = 90;
    static_cast<void>(run->on_frame(frame));
    static_cast<void>(run->on_frame(frame));
    EXPECT_FALSE(run->making_safe());
    static_cast<void>(hear({{kCurrentChannel, begun_us, 90.0}}));
    EXPECT_TRUE(run->making_safe()) << "what came in the step counts";
  }
}

// It counts in both steps, so the end of the first one is no hole.
TEST_F(PartOfATestTest, ALimitOfTwoStepsInTurnJudgesTheLastSamplesOfTheFirst) {
  bench.over_limits = {made_limit(Role::supply_current, 50, 0)};
  bench.over_limits[0].steps = {"warm_up", "hold_0"};
  begin();
  while (run->progress().index < 3) next();
  ASSERT_FALSE(run->making_safe());
  static_cast<void>(hear({{kCurrentChannel, source.now.bench_time_us - 50'000, 90.0}}));
  EXPECT_TRUE(run->making_safe());
}

// --- on the wire

class SlowDeviceTest : public BenchTest {
 protected:
  ScriptedModbusPeer slow{io};
  // Both are asked once in each round; in this one, by its number, the current is beyond its limit
  // and the slow device does not answer.
  int bad_round = 1'000'000;
  int rounds = 0, slow_rounds = 0;

  void SetUp() override {
    BenchTest::SetUp();
    definition.devices[0].transaction_deadline = 20s;
    DeviceDefinition device = definition.devices[0];
    device.id = "slow";
    device.port = slow.port();
    definition.devices.push_back(device);
    definition.channels[kHeadChannel].source.device = "slow";
    definition.channels[kHeadChannel].facts.period_s = 0.02;
    for (ChannelDefinition& channel : definition.channels) channel.facts.silent_after_s = 200;
    slow.input[9] = 500;
    slow.mute = [this](const Ask&) { return ++slow_rounds >= bad_round; };
    peer.before_answer = [this, obey = peer.before_answer](const Ask& ask) {
      obey(ask);
      if (ask.function == 4 && ++rounds >= bad_round) peer.input[6] = 20'000;  // 100 A
    };
    definition.over_limits = {made_limit(Role::supply_current, 50, 0)};
    model.sequence[2].duration_s = 60;  // warm-up
  }
  std::size_t count_off() const {
    return static_cast<std::size_t>(
        std::ranges::count_if(peer.asked, [](const Ask& ask) { return ask.writes(kRelay, 0); }));
  }
};

TEST_F(SlowDeviceTest, OfTheSameRoundHoldsNoTripUp) {
  start_and_run_to(2);
  const std::size_t before = count_off();
  bad_round = std::max(rounds, slow_rounds) + 3;
  until([&] { return count_off() > before; });
  EXPECT_EQ(slow_rounds, bad_round) << "the slow device still owes its answer";
  EXPECT_EQ(rounds, bad_round);
}

// The round waits for the slow device for ever; a third one answers in between.
TEST_F(SlowDeviceTest, OfARoundThatDoesNotEndHoldsNoTripOfAnotherDeviceUp) {
  ScriptedModbusPeer own(io);
  DeviceDefinition device = definition.devices[1];
  device.id = "own";
  device.port = own.port();
  device.own_pace = true;
  definition.devices.push_back(device);
  definition.channels[6].source.device = "own";
  definition.over_limits = {made_limit(Role::seal_pressure, 30e3, 0)};
  model.sequence[2].duration_s = 60;
  own.input[13] = 500;
  own.delay = [](const Ask&) { return 40ms; };
  start_and_run_to(2);
  const std::size_t before = count_off();
  own.before_answer = [&](const Ask&) {
    own.input[13] = 40'000;
    bad_round = std::min(bad_round, slow_rounds + 1);  // from here on no round ends
  };
  until([&] { return count_off() > before; });
  EXPECT_EQ(slow_rounds, bad_round);
}

// Two polls stand 20 ms apart on this bench, a peak of 4 ms between them.
TEST_F(BenchTest, APeakInsideAStreamedBlockSwitchesOff) {
  using boost::asio::ip::tcp;
  tcp::acceptor acceptor(io, tcp::endpoint(boost::asio::ip::address_v4::loopback(), 0));
  tcp::socket stream(io);
  bool connected = false;
  acceptor.async_accept(stream, [&](boost::system::error_code error) { connected = !error; });
  DeviceDefinition device = definition.devices[0];
  device.id = "daq";
  device.link = LinkKind::sample_stream;
  device.port = acceptor.local_endpoint().port();
  device.transaction_deadline = 20s;
  definition.devices.push_back(device);
  RegisterSource& source = definition.channels[kCurrentChannel].source;
  source = RegisterSource{};
  source.device = "daq";
  source.type = RegisterType::i16;
  source.column = 0;
  definition.over_limits = {made_limit(Role::supply_current, 50, 0.003)};
  for (ChannelDefinition& channel : definition.channels) channel.facts.silent_after_s = 30;
  model.sequence[0].duration_s = 60;  // the zero step, where no motor runs
  MadeBlock block;
  block.period_ns = 1'000'000;
  const auto send = [&](int peak_ms) {
    block.columns = {{SampleType::int16, std::vector<std::int32_t>(20, 0)}};
    for (int i = 0; i < peak_ms; ++i)
      block.columns[0].raw[static_cast<std::size_t>(5 + i)] = 20'000;
    boost::asio::write(stream, boost::asio::buffer(block.bytes()));
    ++block.sequence;
    block.first_us += 20'000;
  };
  connect();
  until([&] { return connected; });
  send(0);
  until_ready();
  bench->start(model);
  send(3);
  for (int i = 0; i < 20; ++i) io.run_one_for(5ms);
  EXPECT_FALSE(bench->live().making_safe) << "2 ms from the first to the last sample of the peak";
  send(4);
  until_finished();
  ASSERT_TRUE(finished->trace.trip);
  EXPECT_EQ(finished->trace.trip->value_si, 100);
}

}  // namespace
}  // namespace endgate::tests

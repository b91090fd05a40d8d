// The bench over real sockets, with libmodbus as an independent client.

#include <sys/socket.h>

#include <chrono>

#include "tests/simbench_server/loopback_bench.h"

namespace simbench {
namespace {

using namespace std::chrono_literals;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::SizeIs;

constexpr Words::value_type kRelayBit = 1U << 2U, kLatchBit = 1U << 4U;

TEST(Loopback, ReadsAllRegistersAtOnce) {
  const ServedBench bench;
  Libmodbus client(bench.port());
  EXPECT_THAT(client.input(0, 18), SizeIs(18));
  EXPECT_THAT(client.holding(100, 10), ElementsAre(0, 0, 0, 0, 0, 1, 0, 0, 0, 1));
}

TEST(Loopback, WritesOneAndSeveralRegisters) {
  const ServedBench bench;
  Libmodbus client(bench.port());
  EXPECT_EQ(client.write(103, 13500), 0);
  EXPECT_EQ(client.write(104, Words{4000, 0}), 0);
  EXPECT_THAT(client.holding(103, 3), ElementsAre(13500, 4000, 0));
  EXPECT_THAT(client.input(14, 2), ElementsAre(13500, 4000));
}

TEST(Loopback, RefusesAsTheMapSays) {
  const ServedBench bench;
  Libmodbus client(bench.port());
  EXPECT_EQ(client.write(3, 1), EMBXILADD);
  EXPECT_EQ(client.write(103, 40000), EMBXILVAL);
  EXPECT_EQ(client.write(102, 1), EMBXSFAIL);
  EXPECT_THAT(client.input(10, 13), SizeIs(0));
  EXPECT_EQ(errno, EMBXILADD);
  std::uint8_t coil = 0;
  EXPECT_EQ(modbus_read_bits(client.raw(), 0, 1, &coil), -1);
  EXPECT_EQ(errno, EMBXILFUN);
}

TEST(Loopback, ServesSeveralClientsAtTheSameTime) {
  const ServedBench bench;
  Libmodbus first(bench.port()), second(bench.port());
  ASSERT_EQ(first.write(holding::owner, 7), 0);
  EXPECT_EQ(second.write(holding::owner, 8), EMBXSFAIL);
  EXPECT_THAT(second.holding(holding::owner, 1), ElementsAre(7));
  EXPECT_THAT(first.input(0, 18), SizeIs(18));
}

TEST(Loopback, AnswersPipelinedRequestsInTheirOrder) {
  const ServedBench bench;
  RawLink link(bench.port());
  Bytes burst;
  for (std::uint16_t i = 0; i < 200; ++i) {
    const Bytes one = frame(
        i, {6, 0, 103, static_cast<std::uint8_t>(i >> 8U), static_cast<std::uint8_t>(i & 0xffU)});
    burst.insert(burst.end(), one.begin(), one.end());
  }
  link.send(burst);
  EXPECT_EQ(link.receive(burst.size()), burst);  // function 6 answers with its request
}

TEST(Loopback, TakesARequestInPieces) {
  const ServedBench bench;
  RawLink link(bench.port());
  const Bytes whole = frame(5, {3, 0, 105, 0, 1});
  for (const std::uint8_t byte : whole) {
    link.send({byte});
    std::this_thread::sleep_for(2ms);
  }
  EXPECT_THAT(link.receive(11), ElementsAre(0, 5, 0, 0, 0, 5, 1, 3, 2, 0, 1));
}

TEST(Loopback, PassesOverAnotherProtocolAndGoesOn) {
  const ServedBench bench;
  RawLink link(bench.port());
  Bytes foreign = frame(1, {3, 0, 105, 0, 1});
  foreign[2] = 9;
  link.send(foreign);
  link.send(frame(2, {3, 0, 105, 0, 1}));
  EXPECT_THAT(link.receive(11), ElementsAre(0, 2, 0, 0, 0, 5, 1, 3, 2, 0, 1));
}

TEST(Loopback, AnswersWhatCameBeforeABrokenFrameAndCloses) {
  const ServedBench bench;
  RawLink link(bench.port());
  Bytes bytes = frame(1, {3, 0, 105, 0, 1});
  bytes.insert(bytes.end(), {0, 2, 0, 0, 0xff, 0xff, 1, 3});
  link.send(bytes);
  EXPECT_THAT(link.receive(11), ElementsAre(0, 1, 0, 0, 0, 5, 1, 3, 2, 0, 1));
  EXPECT_TRUE(link.ends());
}

TEST(Loopback, OutlivesGarbageAndClientsThatGoAway) {
  const ServedBench bench;
  for (int seed = 0; seed < 50; ++seed) {
    RawLink link(bench.port());
    Bytes noise;
    for (int i = 0; i < 300; ++i) noise.push_back(static_cast<std::uint8_t>((seed + 31 * i) ^ i));
    link.send(noise);
  }
  Libmodbus client(bench.port());
  EXPECT_THAT(client.input(0, 18), SizeIs(18));
}

// No time is asserted: age, relay and lapse count are read in one request and must agree.
class LeaseOverTheWire : public testing::TestWithParam<double> {};

TEST_P(LeaseOverTheWire, LapsesAfter500MsOfSteadyTimeAndLatches) {
  const ServedBench bench(GetParam());
  Libmodbus client(bench.port());
  ASSERT_EQ(client.write(holding::owner, Words{7, 1, 1}), 0);
  const Words begin = client.input(0, 18);
  bool lapsed = false;
  Words now;
  for (int looks = 0; looks < 10'000 && !lapsed; ++looks) {
    std::this_thread::sleep_for(5ms);
    now = client.input(0, 18);
    ASSERT_THAT(now, SizeIs(18));
    lapsed = now[input::lease_age] >= 500;
    EXPECT_EQ((now[input::status] & kRelayBit) != 0, !lapsed) << now[input::lease_age];
    EXPECT_EQ((now[input::status] & kLatchBit) != 0, lapsed);
    EXPECT_EQ(now[input::lapse_count], lapsed ? 1 : 0);
  }
  EXPECT_TRUE(lapsed);
  EXPECT_EQ(client.write(holding::lease, 1), 0);
  EXPECT_EQ(client.input(input::status, 1).at(0) & kRelayBit, 0);
  const int bench_ms = now[input::counter_low] - begin[input::counter_low];
  const int steady_ms = now[input::lease_age] - begin[input::lease_age];
  EXPECT_LE(bench_ms, GetParam() * steady_ms + GetParam() + 1);  // held up it may be less
}

INSTANTIATE_TEST_SUITE_P(Rates, LeaseOverTheWire, testing::Values(1.0, 10.0));

TEST(ControlPort, PlaysThePersonAtTheBench) {
  const ServedBench bench;
  RawLink hand(bench.control_port());
  Libmodbus client(bench.port());
  EXPECT_EQ(hand.ask("clamp " + make_serial("2648", 117)), "ok");
  EXPECT_EQ(hand.ask("cover open"), "ok");
  EXPECT_EQ(client.input(input::status, 1).at(0) & 1U, 0U);
  EXPECT_EQ(hand.ask("cover closed"), "ok");
  EXPECT_EQ(hand.ask("emergency pressed"), "ok");
  EXPECT_EQ(client.input(input::status, 1).at(0) & 3U, 1U);
  EXPECT_EQ(hand.ask("channel flow novalue"), "ok");
  EXPECT_THAT(client.input(4, 1), ElementsAre(65535));
  EXPECT_THAT(hand.ask("dance"), HasSubstr("error unknown command dance"));
  EXPECT_EQ(hand.ask("unclamp"), "ok");
}

TEST(ControlPort, RefusesToTouchARunningUnit) {
  const ServedBench bench;
  RawLink hand(bench.control_port());
  Libmodbus client(bench.port());
  ASSERT_EQ(hand.ask("clamp " + make_serial("2648", 117)), "ok");
  // The lease holds as long as it is written; the hand's command takes some 0.1 s.
  ASSERT_EQ(client.write(holding::owner, Words{7, 1, 1}), 0);
  EXPECT_THAT(hand.ask("unclamp"), HasSubstr("relay is closed"));
}

TEST(ControlPort, AnswersTheWireWhileAUnitIsMadeReady) {
  const ServedBench bench;
  Libmodbus client(bench.port());
  std::string reply;
  std::thread person([&] {
    RawLink hand(bench.control_port());
    reply = hand.ask("clamp " + make_serial("2648", 3117) + " dead_fan 1");
  });
  for (int i = 0; i < 100; ++i) EXPECT_THAT(client.input(0, 18), SizeIs(18));
  person.join();
  EXPECT_EQ(reply, "ok");
}

TEST(ControlPort, PullsTheCable) {
  const ServedBench bench;
  RawLink link(bench.port()), hand(bench.control_port());
  link.send(frame(1, {3, 0, 105, 0, 1}));
  (void)link.receive(11);
  EXPECT_EQ(hand.ask("drop"), "ok");
  EXPECT_TRUE(link.ends());
  Libmodbus again(bench.port());
  EXPECT_THAT(again.input(0, 18), SizeIs(18));
}

TEST(ControlPort, CyclesThePower) {
  const ServedBench bench;
  RawLink hand(bench.control_port());
  {
    Libmodbus client(bench.port());
    ASSERT_EQ(client.write(holding::owner, 7), 0);
    ASSERT_EQ(hand.ask("power cycle"), "ok");
    EXPECT_THAT(client.input(0, 1), SizeIs(0));  // the link went with the power
  }
  Libmodbus client(bench.port());
  EXPECT_THAT(client.holding(holding::owner, 1), ElementsAre(0));
  EXPECT_NE(client.input(input::status, 1).at(0) & (1U << 10U), 0U);
}

TEST(ControlPort, SilencesTheBenchWithoutAnsweringLater) {
  const ServedBench bench;
  RawLink link(bench.port()), hand(bench.control_port());
  ASSERT_EQ(hand.ask("silence 300"), "ok");
  link.send(frame(1, {3, 0, 105, 0, 1}));
  std::this_thread::sleep_for(400ms);
  link.send(frame(2, {3, 0, 105, 0, 1}));
  EXPECT_THAT(link.receive(11), ElementsAre(0, 2, 0, 0, 0, 5, 1, 3, 2, 0, 1));
}

TEST(ControlPort, HangsUpOnALineWithoutEnd) {
  const ServedBench bench;
  RawLink hand(bench.control_port());
  hand.send(Bytes(2000, 'x'));
  EXPECT_TRUE(hand.ends());
}

}  // namespace
}  // namespace simbench

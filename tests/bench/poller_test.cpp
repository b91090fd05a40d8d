#include "daemon/bench/poller.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;
using ::testing::SizeIs;

// A link whose answers come when the test says so.
class HeldLink final : public Link {
 public:
  struct Asked {
    std::vector<RegisterSpan> spans;
    ReadDone done;
  };
  std::vector<Asked> asked;

  void open(Events) override {}
  void read(std::vector<RegisterSpan> spans, ReadDone done) override {
    asked.push_back({std::move(spans), std::move(done)});
  }
  void write(RegisterWrite, Urgency, WriteDone) override {}
  [[nodiscard]] bool is_open() const override { return true; }
  void close() override {}

  void answer() {
    while (!asked.empty()) answer_one();
  }
  void answer_one() {
    Asked next = std::move(asked.front());
    asked.erase(asked.begin());
    ReadAnswer answer;
    for (const RegisterSpan& span : next.spans)
      answer.spans.push_back({std::vector<std::uint16_t>(span.count, 7), 0, now, now});
    next.done(std::move(answer));
  }
  std::chrono::steady_clock::time_point now{std::chrono::seconds(1)};
};

class MixedPollerTest : public ::testing::Test {
 protected:
  std::shared_ptr<HeldLink> io = std::make_shared<HeldLink>();
  std::shared_ptr<HeldLink> supply = std::make_shared<HeldLink>();
  std::vector<RoundAnswer> answered;
  std::vector<std::size_t> missed;
  std::vector<DeviceSpan> told;  // before its round was whole
  std::unique_ptr<Poller> poller;

  void SetUp() override {
    BenchDefinition bench = made_bench();
    DeviceDefinition slow;
    slow.id = "supply";
    slow.link = LinkKind::scpi_tcp;
    slow.queries = {{"MEAS:VOLT?", "{number}"}};
    slow.own_pace = true;
    bench.devices.push_back(slow);
    RegisterSource source;
    source.device = "supply";
    source.type = RegisterType::f64;
    bench.channels[2].source = source;
    bench.actuators[1].read_back = source_at(101);
    bench.actuators[2].read_back = source_at(102);  // a request of its own
    poller = std::make_unique<Poller>(
        bench, Poller::Links{io, supply},
        Poller::Events{[this](RoundAnswer answer) { answered.push_back(std::move(answer)); },
                       [this](const auto& channels) {
                         missed.insert(missed.end(), channels.begin(), channels.end());
                       },
                       [this](const DeviceSpan& span, const SpanAnswer& answer) {
                         EXPECT_EQ(answer.words.size(), span.count);
                         told.push_back(span);
                       }});
  }
};

TEST_F(MixedPollerTest, DoesNotWaitForADeviceOfItsOwnPace) {
  poller->tick(0);
  io->answer();
  ASSERT_THAT(answered, SizeIs(1));
  EXPECT_THAT(answered[0].devices, SizeIs(1));
  EXPECT_THAT(answered[0].channels, ::testing::Not(::testing::Contains(2u)));
}

TEST_F(MixedPollerTest, AsksADeviceOfItsOwnPaceOnlyWhenItIsFree) {
  for (int tick = 0; tick < 5; ++tick) {
    poller->tick(tick);
    io->answer();
  }
  EXPECT_THAT(supply->asked, SizeIs(1));
  supply->answer();
  poller->tick(5);
  EXPECT_THAT(supply->asked, SizeIs(1));
}

TEST_F(MixedPollerTest, TellsEveryAnswerAsItComes) {
  poller->tick(0);
  ASSERT_THAT(io->asked, SizeIs(2)) << "the second does not hold up the first";
  supply->answer();
  EXPECT_THAT(told, ElementsAre(DeviceSpan{1, 4, 0, 4}));
  io->answer_one();
  EXPECT_THAT(told, SizeIs(2));
  EXPECT_THAT(answered, IsEmpty());
  io->answer_one();
  EXPECT_THAT(told, SizeIs(3));
  EXPECT_THAT(answered, SizeIs(1));
}

TEST_F(MixedPollerTest, FailsTheRoundOnceWhenOneOfSeveralAnswersIsLost) {
  poller->tick(0);
  io->answer_one();
  auto done = std::move(io->asked.front().done);
  io->asked.clear();
  done({{}, LinkError{LinkError::Kind::silent, 0, "late"}});
  EXPECT_THAT(told, SizeIs(1));
  EXPECT_THAT(answered, IsEmpty());
  EXPECT_THAT(missed, ElementsAre(0, 1, 3, 4, 5, 6));
}

TEST_F(MixedPollerTest, LetsItsAnswerJoinTheNextRoundWithItsOwnTime) {
  poller->tick(0);
  io->answer();
  supply->now += std::chrono::milliseconds(30);
  supply->answer();
  poller->tick(1);
  io->answer();
  ASSERT_THAT(answered, SizeIs(2));
  EXPECT_THAT(answered[1].channels, ::testing::Contains(2u));
  ASSERT_THAT(answered[1].devices, SizeIs(2));
  EXPECT_EQ(answered[1].devices[1].arrived, supply->now);
  EXPECT_EQ(answered[1].arrived, io->now) << "the round's time is that of what it waited for";
  RegisterSource number;
  number.type = RegisterType::u16;
  EXPECT_EQ(answered[1].image.raw(1, number), 7);
}

TEST_F(MixedPollerTest, TellsWhichChannelsADeviceOfItsOwnPaceMissed) {
  poller->tick(0);
  auto done = std::move(supply->asked.front().done);
  supply->asked.clear();
  done({{}, LinkError{LinkError::Kind::silent, 0, "late"}});
  EXPECT_THAT(missed, ElementsAre(2u));
  io->answer();
  EXPECT_THAT(answered, SizeIs(1));
}

}  // namespace
}  // namespace endgate::tests

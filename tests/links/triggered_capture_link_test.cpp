#include "daemon/links/triggered_capture_link.h"

#include <gmock/gmock.h>

#include <chrono>
#include <optional>

#include "tests/links/link_test.h"
#include "tests/support/scripted_modbus_peer.h"

namespace endgate::daemon {
namespace {

using namespace std::chrono_literals;
using ::testing::Each;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;
using tests::ScriptedModbusPeer;
using Ask = ScriptedModbusPeer::Ask;

constexpr std::uint16_t kTrigger = 200, kReady = 19, kTime = 20, kFirst = 1000, kCount = 300;

// A device whose capture is there as soon as it is asked for; the samples of capture n all read n.
class CaptureTest : public LinkTest {
 protected:
  ScriptedModbusPeer peer{io};
  std::uint16_t captures = 0;
  bool delivers = true;

  CaptureTest() {
    peer.before_answer = [this](const Ask& ask) {
      if (ask.writes(kTrigger, 1) && delivers) capture();
    };
  }

  void capture() {
    peer.input[kReady] = ++captures;
    peer.input[kTime] = 0;
    peer.input[kTime + 1] = static_cast<std::uint16_t>(100 * captures);
    for (std::uint16_t i = 0; i < kCount; ++i) peer.input[kFirst + i] = captures;
  }

  void open_link(CaptureSettings capture) {
    ModbusTcpSettings wire;
    wire.device = "probe";
    wire.host = "127.0.0.1";
    wire.port = peer.port();
    wire.transaction_deadline = 200ms;
    wire.reconnect_first = wire.reconnect_last = 5ms;
    open(make_triggered_capture_link(io.get_executor(), wire, std::move(capture)));
    until_open();
  }
  static CaptureSettings settings() {
    CaptureSettings capture;
    capture.trigger = {kTrigger, {1}};
    capture.ready = {4, kReady, 1};
    capture.time = RegisterSpan{4, kTime, 2};
    capture.samples = {4, kFirst, 0};
    capture.count = kCount;
    capture.period_ns = 50'000;
    capture.ask_every = 1ms;
    return capture;
  }
  std::shared_ptr<const SampleBlock> next_block() {
    std::shared_ptr<const SampleBlock> block;
    until([&] {
      const ReadAnswer answer = read({{4, 0, 4}});
      if (!answer.error && !answer.spans.at(0).blocks.empty())
        block = answer.spans[0].blocks.front();
      return block != nullptr;
    });
    return block;
  }
  [[nodiscard]] long chunks() const {
    return std::ranges::count_if(peer.asked, [](const Ask& ask) { return ask.address >= kFirst; });
  }
};

TEST_F(CaptureTest, ReadsTheSamplesInChunksWithTheTimeOfTheDevice) {
  open_link(settings());
  const auto block = next_block();
  ASSERT_EQ(block->columns.size(), 1u);
  EXPECT_THAT(block->columns[0].raw, SizeIs(kCount));
  EXPECT_THAT(block->columns[0].raw, Each(block->first_us / 100'000));
  EXPECT_EQ(block->period_ns, 50'000);
  for (const Ask& ask : peer.asked) EXPECT_LE(ask.count, 125);
  EXPECT_GE(chunks(), 3);
}

// One of 32 bits that counts microseconds wraps every 71 minutes.
TEST_F(CaptureTest, TheTimeOfTheDeviceGoesOnWhenItsCounterWraps) {
  peer.before_answer = [this](const Ask& ask) {
    if (!ask.writes(kTrigger, 1)) return;
    capture();
    const std::uint32_t counter = 0xffffff00U + 100U * captures;
    peer.input[kTime] = static_cast<std::uint16_t>(counter >> 16);
    peer.input[kTime + 1] = static_cast<std::uint16_t>(counter);
  };
  open_link(settings());
  const auto before = next_block();
  ASSERT_LT(before->columns[0].raw[0], 3);
  auto after = next_block();
  while (after->columns[0].raw[0] < 3) after = next_block();
  EXPECT_EQ(after->first_us - before->first_us,
            100'000 * (after->columns[0].raw[0] - before->columns[0].raw[0]));
}

// The next capture may be there while nobody has asked for the block of the one before.
TEST_F(CaptureTest, TheMomentBesideABlockIsThatOfItsOwnCapture) {
  std::optional<std::chrono::steady_clock::time_point> first_read;
  peer.before_answer = [&](const Ask& ask) {
    if (ask.writes(kTrigger, 1)) capture();
    if (ask.address >= kFirst && !first_read) first_read = ask.at;
  };
  peer.delay = [this](const Ask& ask) {
    return ask.address >= kFirst && captures > 1 ? 150ms : 0ms;
  };
  open_link(settings());
  until([&] { return chunks() == 4; });  // three of the first capture, and one
  const ReadAnswer answer = read({{4, 0, 4}});
  ASSERT_THAT(answer.spans.at(0).blocks, SizeIs(1));
  EXPECT_LE(answer.spans[0].arrived, *first_read);
}

TEST_F(CaptureTest, TakesNoMoreRegistersAtOnceThanTheDeviceGives) {
  CaptureSettings capture = settings();
  capture.most_registers = 33;
  capture.type = SampleType::float32;  // never half a float
  capture.count = kCount / 2;
  open_link(capture);
  EXPECT_THAT(next_block()->columns[0].raw, SizeIs(kCount / 2));
  for (const Ask& ask : peer.asked) EXPECT_LE(ask.count, 32);
}

TEST_F(CaptureTest, JoinsTwoWordsInTheOrderOfTheFile) {
  CaptureSettings capture = settings();
  capture.type = SampleType::int32;
  capture.count = 1;
  capture.low_word_first = true;
  peer.before_answer = [this](const Ask& ask) {
    if (!ask.writes(kTrigger, 1)) return;
    this->capture();
    peer.input[kFirst] = 0xfffe;
    peer.input[kFirst + 1] = 0xffff;
  };
  open_link(capture);
  EXPECT_EQ(next_block()->columns[0].raw.at(0), -2);
}

// Somebody else triggers while the second chunk is asked for, and his capture is there at once.
TEST_F(CaptureTest, NeverSplicesTwoCaptures) {
  int asked_chunks = 0;
  peer.before_answer = [&](const Ask& ask) {
    if (ask.writes(kTrigger, 1)) capture();
    if (ask.address >= kFirst && ++asked_chunks == 2) capture();
  };
  open_link(settings());
  const auto block = next_block();
  EXPECT_THAT(block->columns[0].raw, Each(3)) << "the first that nobody disturbed";
  EXPECT_EQ(block->sequence, 1u);
}

// His capture is still under way at the last chunk: the ready register says 0.
TEST_F(CaptureTest, NeverTakesSamplesThatAreBeingOverwritten) {
  int asked_chunks = 0;
  peer.before_answer = [&](const Ask& ask) {
    if (ask.writes(kTrigger, 1)) capture();
    if (ask.address < kFirst || ++asked_chunks != 3) return;
    peer.input[kReady] = 0;
    peer.input[kFirst + 299] = 77;
  };
  open_link(settings());
  EXPECT_THAT(next_block()->columns[0].raw, Each(2));
}

TEST_F(CaptureTest, KeepsNothingOfACaptureWhoseConnectionIsLost) {
  bool drop = true;
  peer.mute = [&](const Ask& ask) {
    if (!drop || ask.address != kFirst + 125) return false;
    drop = false;
    peer.drop_connection();
    return true;
  };
  open_link(settings());
  until([&] { return !losses.empty(); });
  EXPECT_EQ(losses[0].kind, LinkError::Kind::lost);
  until_open();
  EXPECT_THAT(next_block()->columns[0].raw, Each(2));
}

TEST_F(CaptureTest, SaysSilentWhenNoCaptureComesAndGoesOnTrying) {
  CaptureSettings capture = settings();
  capture.within = 100ms;
  delivers = false;
  open_link(capture);
  until([&] { return !losses.empty(); });
  EXPECT_EQ(losses[0].kind, LinkError::Kind::silent);
  EXPECT_THAT(losses[0].text, HasSubstr("no whole capture in time"));
  delivers = true;
  until_open();
  EXPECT_THAT(next_block()->columns[0].raw, Each(1));
}

TEST_F(CaptureTest, ABitMaySayThatItIsThere) {
  CaptureSettings capture = settings();
  capture.ready_bit = 3;
  capture.time.reset();
  peer.before_answer = [this](const Ask& ask) {
    if (!ask.writes(kTrigger, 1)) return;
    this->capture();
    peer.input[kReady] = 0b1000;
  };
  open_link(capture);
  EXPECT_THAT(next_block()->columns[0].raw, SizeIs(kCount));
}

TEST_F(CaptureTest, ARefusedTriggerIsTold) {
  peer.refuse = [](const Ask& ask) { return ask.is_write() ? 4 : 0; };
  open_link(settings());
  until([&] { return !losses.empty(); });
  EXPECT_THAT(losses[0].text, HasSubstr("the trigger"));
}

TEST_F(CaptureTest, TakesNoWrites) {
  open_link(settings());
  EXPECT_EQ(write({1, {1}}).value().kind, LinkError::Kind::refused);
  EXPECT_THAT(losses, IsEmpty());
}

}  // namespace
}  // namespace endgate::daemon

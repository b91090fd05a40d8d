#include "daemon/links/modbus_tcp_link.h"

#include <gmock/gmock.h>

#include "daemon/links/modbus_crc.h"
#include "daemon/links/modbus_dialogue.h"
#include "tests/links/link_test.h"
#include "tests/support/scripted_modbus_peer.h"

namespace endgate::daemon {
namespace {

using namespace std::chrono_literals;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using tests::ScriptedModbusPeer;
using Ask = ScriptedModbusPeer::Ask;

class ModbusTcpLinkTest : public LinkTest {
 protected:
  ScriptedModbusPeer peer{io};

  void open_link(std::chrono::milliseconds deadline = 100ms) {
    ModbusTcpSettings settings;
    settings.device = "io";
    settings.host = "127.0.0.1";
    settings.port = peer.port();
    settings.transaction_deadline = deadline;
    settings.reconnect_first = 5ms;
    open(make_modbus_tcp_link(io.get_executor(), settings));
    until_open();
  }
};

TEST_F(ModbusTcpLinkTest, ReadsTheSpansOfABatchInOrder) {
  peer.input = {{3, 30}, {4, 40}};
  peer.holding = {{100, 7}};
  open_link();
  const ReadAnswer answer = read({{4, 3, 2}, {3, 100, 1}});
  ASSERT_EQ(answer.spans.size(), 2u);
  EXPECT_THAT(answer.spans[0].words, ElementsAre(30, 40));
  EXPECT_THAT(answer.spans[1].words, ElementsAre(7));
  EXPECT_LE(answer.spans[0].sent, answer.spans[0].arrived);
}

TEST_F(ModbusTcpLinkTest, KeepsTheConnectionWhenTheDeviceRefusesASpan) {
  peer.refuse = [](const Ask& ask) { return ask.address == 900 ? 2 : 0; };
  peer.input = {{1, 11}};
  open_link();
  const ReadAnswer answer = read({{4, 900, 1}, {4, 1, 1}});
  EXPECT_FALSE(answer.error);
  EXPECT_EQ(answer.spans[0].exception, 2);
  EXPECT_THAT(answer.spans[1].words, ElementsAre(11));
  EXPECT_TRUE(losses.empty());
}

TEST_F(ModbusTcpLinkTest, SendsAnUrgentWriteBeforeQueuedWritesAndReads) {
  open_link();
  int done = 0;
  const auto count = [&](const std::optional<LinkError>&) { ++done; };
  link->read({{4, 1, 1}, {4, 50, 1}}, [&](ReadAnswer) { ++done; });
  link->write({103, {5}}, Link::Urgency::in_turn, count);
  link->write({102, {0}}, Link::Urgency::at_once, count);
  until([&] { return done == 3; });
  std::vector<int> addresses;
  for (const Ask& ask : peer.asked) addresses.push_back(ask.address);
  EXPECT_THAT(addresses, ElementsAre(1, 102, 103, 50));
}

TEST_F(ModbusTcpLinkTest, DropsWhatWasQueuedForTheRegisterOfAnUrgentWrite) {
  open_link();
  std::optional<LinkError> on_failed;
  int done = 0;
  const auto count = [&](const std::optional<LinkError>&) { ++done; };
  bool inside = true;  // the call that overtakes
  link->read({{4, 1, 1}}, [&](ReadAnswer) { ++done; });
  link->write({103, {5}}, Link::Urgency::in_turn, count);
  link->write({102, {1}}, Link::Urgency::in_turn, [&](const auto& error) {
    EXPECT_FALSE(inside);
    on_failed = error;
  });
  link->write({102, {0}}, Link::Urgency::at_once, count);
  inside = false;
  until([&] { return done == 3 && on_failed; });
  EXPECT_EQ(on_failed->kind, LinkError::Kind::lost);
  EXPECT_THAT(on_failed->text, HasSubstr("io: overtaken by an urgent write to register 102"));
  std::vector<int> addresses;
  for (const Ask& ask : peer.asked) addresses.push_back(ask.address);
  EXPECT_THAT(addresses, ElementsAre(1, 102, 103)) << "and the other register has its turn";
  EXPECT_TRUE(peer.asked[1].writes(102, 0));
}

TEST_F(ModbusTcpLinkTest, SwitchesOnInTurnWhatIsAskedForAfterTheUrgentWrite) {
  open_link();
  int done = 0;
  const auto count = [&](const std::optional<LinkError>& error) { done += error ? 0 : 1; };
  link->read({{4, 1, 1}}, nullptr);
  link->write({102, {0}}, Link::Urgency::at_once, count);
  link->write({102, {1}}, Link::Urgency::in_turn, count);
  until([&] { return done == 2; });
  EXPECT_TRUE(peer.asked.at(1).writes(102, 0));
  EXPECT_TRUE(peer.asked.at(2).writes(102, 1));
}

TEST_F(ModbusTcpLinkTest, TellsTheTextOfARefusedWrite) {
  peer.refuse = [](const Ask&) { return 4; };
  open_link();
  std::optional<LinkError> error;
  link->write({107, {1}}, Link::Urgency::in_turn, [&](const auto& given) { error = given; });
  until([&] { return error.has_value(); });
  EXPECT_EQ(error->kind, LinkError::Kind::refused);
  EXPECT_EQ(error->exception, 4);
  EXPECT_THAT(error->text, HasSubstr("io refused a write to register 107: device failure"));
  EXPECT_TRUE(link->is_open());
}

TEST(ModbusDialogue, SaysWhetherAReadOrAWriteWasRefusedAndByWhichNumber) {
  ModbusDialogue dialogue(modbus::Framing::rtu, 1);
  const auto refused_with = [&](std::uint8_t function, std::uint8_t exception) {
    std::vector<std::uint8_t> answer{1, static_cast<std::uint8_t>(function | 0x80), exception};
    const std::uint16_t crc = modbus::crc_of(answer);
    answer.push_back(static_cast<std::uint8_t>(crc & 0xff));
    answer.push_back(static_cast<std::uint8_t>(crc >> 8));
    EXPECT_EQ(dialogue.feed(answer), Dialogue::State::refused);
    return dialogue.text();
  };
  dialogue.ask({4, 7, 1});
  EXPECT_EQ(refused_with(4, 2), "refused a read of register 7: illegal data address");
  dialogue.tell({8, {1}});
  EXPECT_EQ(refused_with(6, 77), "refused a write to register 8: exception 77");
  dialogue.ask({3, 9, 2});
  EXPECT_EQ(refused_with(3, 11),
            "refused a read of register 9: device behind the gateway does not answer");
}

TEST_F(ModbusTcpLinkTest, NeverTakesALateAnswerForAFreshOne) {
  peer.input = {{1, 111}, {2, 222}};
  peer.delay = [](const Ask& ask) { return ask.address == 1 ? 60ms : 0ms; };
  open_link(30ms);
  const ReadAnswer late = read({{4, 1, 1}});
  ASSERT_TRUE(late.error);
  EXPECT_EQ(late.error->kind, LinkError::Kind::silent);
  until([this] { return link->is_open(); });
  for (int i = 0; i < 20; ++i) EXPECT_THAT(read({{4, 2, 1}}).spans.at(0).words, ElementsAre(222));
  EXPECT_EQ(peer.connections, 2);
}

TEST_F(ModbusTcpLinkTest, HoldsOneDeadlineOverAllBytesOfADrippingAnswer) {
  peer.drip = 15ms;  // eleven bytes: every gap is short, the whole is late
  open_link(60ms);
  const ReadAnswer answer = read({{4, 1, 1}});
  ASSERT_TRUE(answer.error);
  EXPECT_EQ(answer.error->kind, LinkError::Kind::silent);
}

TEST_F(ModbusTcpLinkTest, ClosesOnTheAnswerOfAnotherUnit) {
  peer.tamper = [](const Ask&, auto& bytes) { bytes[6] = 9; };
  open_link();
  const ReadAnswer answer = read({{4, 1, 1}});
  ASSERT_TRUE(answer.error);
  EXPECT_EQ(answer.error->kind, LinkError::Kind::garbled);
  EXPECT_THAT(answer.error->text, HasSubstr("another unit"));
}

TEST_F(ModbusTcpLinkTest, ClosesOnTheAnswerToAnotherRequest) {
  peer.tamper = [](const Ask&, auto& bytes) { bytes[1] ^= 1; };
  open_link();
  const ReadAnswer answer = read({{4, 1, 1}});
  ASSERT_TRUE(answer.error);
  EXPECT_THAT(answer.error->text, HasSubstr("another request"));
}

TEST_F(ModbusTcpLinkTest, NeverReplaysAWriteThatWasQueuedWhenTheConnectionDied) {
  peer.mute = [](const Ask& ask) { return ask.function == 4; };
  open_link(30ms);
  std::vector<LinkError> failed;
  link->read({{4, 1, 1}}, [](ReadAnswer) {});
  link->write({102, {1}}, Link::Urgency::in_turn,
              [&](const auto& error) { failed.push_back(error.value()); });
  until([&] { return !failed.empty(); });
  until([this] { return openings == 2; });
  read({{3, 100, 1}});
  for (const Ask& ask : peer.asked) EXPECT_FALSE(ask.writes(102, 1));
}

TEST_F(ModbusTcpLinkTest, ReconnectsWhenThePeerClosesInMidTransaction) {
  peer.mute = [&](const Ask&) { return peer.connections == 1; };
  open_link();
  std::optional<ReadAnswer> answer;
  link->read({{4, 1, 1}}, [&](ReadAnswer given) { answer = std::move(given); });
  until([&] { return !peer.asked.empty(); });
  peer.drop_connection();
  until([&] { return answer.has_value(); });
  EXPECT_EQ(answer->error->kind, LinkError::Kind::lost);
  until([this] { return openings == 2; });
  EXPECT_EQ(read({{4, 1, 1}}).spans.size(), 1u);
}

TEST_F(ModbusTcpLinkTest, NoticesAPeerThatVanishedWithoutAWord) {
  open_link(40ms);
  peer.mute = [](const Ask&) { return true; };  // half open: bytes go out, nothing comes back
  EXPECT_EQ(read({{4, 1, 1}}).error.value().kind, LinkError::Kind::silent);
  ASSERT_EQ(losses.size(), 1u);
}

TEST_F(ModbusTcpLinkTest, RefusesRequestsWhileThereIsNoConnection) {
  open_link();
  peer.drop_connection();
  link->read({{4, 1, 1}}, [](ReadAnswer) {});
  until([this] { return !losses.empty(); });
  std::optional<LinkError> error;
  link->write({102, {0}}, Link::Urgency::at_once, [&](const auto& given) { error = given; });
  EXPECT_FALSE(error);  // never from inside the call
  until([&] { return error.has_value(); });
  EXPECT_EQ(error->kind, LinkError::Kind::lost);
}

TEST_F(ModbusTcpLinkTest, CallsNothingBackAfterClose) {
  open_link();
  link->read({{4, 1, 1}}, [](ReadAnswer) { FAIL(); });
  link->close();
  io.run_for(20ms);
  EXPECT_TRUE(losses.empty());
}

}  // namespace
}  // namespace endgate::daemon

#include "daemon/links/modbus_rtu_link.h"

#include <gmock/gmock.h>

#include "daemon/links/modbus_crc.h"
#include "tests/links/link_test.h"
#include "tests/support/scripted_serial_peer.h"

namespace endgate::daemon {
namespace {

using namespace std::chrono_literals;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using Bytes = std::vector<std::uint8_t>;

Bytes with_crc(Bytes bytes) {
  const std::uint16_t crc = modbus::crc_of(bytes);
  bytes.push_back(static_cast<std::uint8_t>(crc & 0xff));
  bytes.push_back(static_cast<std::uint8_t>(crc >> 8));
  return bytes;
}

ModbusRtuSettings settings_of(const std::string& path) {
  ModbusRtuSettings settings;
  settings.device = "meter";
  settings.line.path = path;
  settings.line.resync_silence = 5ms;
  settings.transaction_deadline = 100ms;
  settings.reconnect_first = 5ms;
  return settings;
}

// Answers a read of one register with its address as value.
Bytes address_as_value(const Bytes& request) {
  return with_crc({request[0], request[1], 2, request[2], request[3]});
}

class ModbusRtuLinkTest : public LinkTest {
 protected:
  tests::ScriptedSerialPeer peer{io};

  void open_line(std::chrono::milliseconds deadline = 100ms,
                 std::chrono::milliseconds resync_silence = 5ms) {
    ModbusRtuSettings settings = settings_of(peer.path());
    settings.transaction_deadline = deadline;
    settings.line.resync_silence = resync_silence;
    open(make_modbus_rtu_link(io.get_executor(), settings));
    until_open();
  }
};

// The frame of many teaching pages (from memory); its check sum was computed elsewhere.
TEST_F(ModbusRtuLinkTest, SendsTheFrameThatTeachingPagesShow) {
  open_line(20ms);
  read({{3, 0, 10, 1}});
  EXPECT_THAT(peer.heard.at(0).bytes, ElementsAre(0x01, 0x03, 0x00, 0x00, 0x00, 0x0A, 0xC5, 0xCD));
}

TEST_F(ModbusRtuLinkTest, ReadsSeveralUnitsOfOneLine) {
  peer.answer = [](const Bytes& request) {
    return with_crc({request[0], request[1], 2, 0, request[0]});
  };
  open_line();
  const ReadAnswer answer = read({{4, 0, 1, 7}, {4, 0, 1, 9}});
  EXPECT_THAT(answer.spans.at(0).words, ElementsAre(7));
  EXPECT_THAT(answer.spans.at(1).words, ElementsAre(9));
}

TEST_F(ModbusRtuLinkTest, KeepsTheLineSilentBetweenFrames) {
  peer.answer = address_as_value;
  open_line();
  read({{4, 1, 1}, {4, 2, 1}, {4, 3, 1}});
  ASSERT_EQ(peer.heard.size(), 3u);
  const auto silence = frame_silence(settings_of("").line);
  for (std::size_t i = 1; i < peer.heard.size(); ++i)
    EXPECT_GE(peer.heard[i].at - peer.heard[i - 1].at, silence);
}

TEST_F(ModbusRtuLinkTest, ClosesOnAWrongCheckSum) {
  peer.answer = [](const Bytes& request) {
    Bytes bytes = address_as_value(request);
    bytes.back() ^= 1;
    return bytes;
  };
  open_line();
  const ReadAnswer answer = read({{4, 1, 1}});
  EXPECT_EQ(answer.error.value().kind, LinkError::Kind::garbled);
  EXPECT_THAT(answer.error->text, HasSubstr("check sum"));
}

TEST_F(ModbusRtuLinkTest, NeverTakesALateAnswerForAFreshOne) {
  int asked = 0;
  peer.answer = [&](const Bytes& request) {
    return with_crc({request[0], request[1], 2, 0, static_cast<std::uint8_t>(++asked)});
  };
  peer.delay = 80ms;
  open_line(60ms, 100ms);
  EXPECT_EQ(read({{4, 1, 1}}).error.value().kind, LinkError::Kind::silent);
  peer.delay = 0ms;
  // The late answer arrives while the line is being opened again, and has the fresh one's shape.
  until_open();
  EXPECT_THAT(read({{4, 1, 1}}).spans.at(0).words, ElementsAre(2));
}

TEST_F(ModbusRtuLinkTest, HoldsOneDeadlineOverADrippingAnswer) {
  peer.answer = address_as_value;
  peer.drip = 15ms;
  open_line(60ms);
  EXPECT_EQ(read({{4, 1, 1}}).error.value().kind, LinkError::Kind::silent);
}

TEST_F(ModbusRtuLinkTest, TakesThePortForItselfAlone) {
  open_line();
  std::optional<LinkError> refused;
  const auto second = make_modbus_rtu_link(io.get_executor(), settings_of(peer.path()));
  second->open({[] { FAIL(); }, [&](const LinkError& why) { refused = why; }});
  until([&] { return refused.has_value(); });
  EXPECT_EQ(refused->kind, LinkError::Kind::lost);
  second->close();
}

TEST(ModbusRtuTiming, IsThreeAndAHalfCharactersAndFixedOnFastLines) {
  SerialSettings line;  // 8E1: eleven bits
  EXPECT_EQ(frame_silence(line), std::chrono::nanoseconds(1'000'000'000LL * 11 / 19200) * 7 / 2);
  line.baud = 115200;
  EXPECT_EQ(frame_silence(line), 1750us);
  line = {.path = {}, .baud = 9600, .parity = Parity::none, .stop_bits = 2};
  EXPECT_EQ(character_time(line), std::chrono::nanoseconds(1'000'000'000LL * 11 / 9600));
}

}  // namespace
}  // namespace endgate::daemon

#include "daemon/links/modbus_rtu_link.h"

#include <gmock/gmock.h>
#include <modbus.h>

#include <atomic>
#include <thread>

#include "daemon/links/modbus_crc.h"
#include "tests/links/link_test.h"
#include "tests/support/scripted_serial_peer.h"
#include "tests/support/serial_cable.h"

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

// libmodbus as the device: an implementation that shares no line with ours.
class LibmodbusDevice {
 public:
  explicit LibmodbusDevice(const std::string& path)
      : context_(::modbus_new_rtu(path.c_str(), 19200, 'E', 8, 1)),
        map_(::modbus_mapping_new(16, 16, 200, 200)) {
    ::modbus_set_slave(context_, 5);
    ::modbus_set_indication_timeout(context_, 0, 50'000);
    if (::modbus_connect(context_) != 0) throw std::runtime_error(::modbus_strerror(errno));
    server_ = std::thread([this] { serve(); });
  }
  ~LibmodbusDevice() {
    stop_ = true;
    server_.join();
    ::modbus_close(context_);
    ::modbus_mapping_free(map_);
    ::modbus_free(context_);
  }
  [[nodiscard]] modbus_mapping_t& map() { return *map_; }

 private:
  void serve() {
    std::array<std::uint8_t, MODBUS_RTU_MAX_ADU_LENGTH> query{};
    while (!stop_) {
      const int length = ::modbus_receive(context_, query.data());
      if (length > 0) ::modbus_reply(context_, query.data(), length, map_);
    }
  }

  modbus_t* context_;
  modbus_mapping_t* map_;
  std::atomic<bool> stop_{false};
  std::thread server_;
};

class AgainstLibmodbus : public LinkTest {
 protected:
  tests::SerialCable cable;
  LibmodbusDevice device{cable.other()};

  void SetUp() override {
    ModbusRtuSettings settings = settings_of(cable.one());
    settings.unit = 5;
    settings.transaction_deadline = 2000ms;
    open(make_modbus_rtu_link(io.get_executor(), settings));
    until_open();
  }
};

TEST_F(AgainstLibmodbus, ReadsInputAndHoldingRegistersAndBits) {
  device.map().tab_input_registers[3] = 0x1234;
  device.map().tab_registers[9] = 0xfffe;
  device.map().tab_bits[2] = 1;
  device.map().tab_input_bits[10] = 1;
  const ReadAnswer answer = read({{4, 3, 1}, {3, 8, 2}, {1, 1, 3}, {2, 2, 10}});
  ASSERT_FALSE(answer.error) << answer.error->text;
  EXPECT_THAT(answer.spans[0].words, ElementsAre(0x1234));
  EXPECT_THAT(answer.spans[1].words, ElementsAre(0, 0xfffe));
  EXPECT_THAT(answer.spans[2].words, ElementsAre(0, 1, 0));
  EXPECT_THAT(answer.spans[3].words, ElementsAre(0, 0, 0, 0, 0, 0, 0, 0, 1, 0));
}

TEST_F(AgainstLibmodbus, ReadsALongSpan) {
  for (std::uint16_t i = 0; i < 125; ++i) device.map().tab_input_registers[i] = i;
  const ReadAnswer answer = read({{4, 0, 125}});
  ASSERT_FALSE(answer.error) << answer.error->text;
  EXPECT_EQ(answer.spans[0].words.back(), 124);
}

TEST_F(AgainstLibmodbus, WritesRegistersBitsAndSingleBitsOfRegisters) {
  device.map().tab_registers[20] = 0b1010;
  EXPECT_FALSE(write({10, {77}}));
  EXPECT_FALSE(write({11, {1, 2, 3}}));
  EXPECT_FALSE(write({4, {1}, 5}));
  EXPECT_FALSE(write({20, {0xfff9, 0x0004}, 22}));  // bit 1 off, bit 2 on
  EXPECT_EQ(device.map().tab_registers[10], 77);
  EXPECT_EQ(device.map().tab_registers[13], 3);
  EXPECT_EQ(device.map().tab_bits[4], 1);
  EXPECT_EQ(device.map().tab_registers[20], 0b1100);
}

TEST_F(AgainstLibmodbus, HearsItsExceptions) {
  const ReadAnswer answer = read({{4, 500, 1}, {4, 3, 1}});
  EXPECT_EQ(answer.spans.at(0).exception, 2);
  EXPECT_EQ(answer.spans.at(1).exception, 0);
  EXPECT_THAT(write({900, {1}}).value().text, HasSubstr("register 900: illegal data address"));
  EXPECT_THAT(losses, IsEmpty());
}

}  // namespace
}  // namespace endgate::daemon

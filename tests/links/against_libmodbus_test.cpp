// Our client against libmodbus as the device, an implementation that shares no line with ours: over a
// serial line and over TCP.

#include <gmock/gmock.h>
#include <modbus.h>
#include <poll.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <boost/asio/ip/tcp.hpp>
#include <thread>

#include "daemon/links/modbus_rtu_link.h"
#include "daemon/links/modbus_tcp_link.h"
#include "tests/links/link_test.h"
#include "tests/support/serial_cable.h"

namespace endgate::daemon {
namespace {

using namespace std::chrono_literals;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

constexpr int kUnit = 5;

// Serves its registers on a thread until it is destroyed.
class LibmodbusPeer {
 public:
  explicit LibmodbusPeer(modbus_t* context)
      : context_(context), map_(::modbus_mapping_new(16, 16, 200, 200)) {
    ::modbus_set_slave(context_, kUnit);
    ::modbus_set_indication_timeout(context_, 0, 50'000);
  }
  virtual ~LibmodbusPeer() {
    ::modbus_mapping_free(map_);
    ::modbus_free(context_);
  }
  LibmodbusPeer(const LibmodbusPeer&) = delete;
  LibmodbusPeer& operator=(const LibmodbusPeer&) = delete;
  [[nodiscard]] modbus_mapping_t& map() { return *map_; }
  virtual std::shared_ptr<Link> link_to(boost::asio::any_io_executor executor) = 0;

 protected:
  virtual bool wait_for_client() = 0;  // false: none yet
  void start() {
    server_ = std::thread([this] { serve(); });
  }
  void stop() {
    stop_ = true;
    server_.join();
    ::modbus_close(context_);
  }
  [[nodiscard]] modbus_t* context() const { return context_; }

 private:
  void serve() {
    while (!stop_ && !wait_for_client()) {
    }
    std::array<std::uint8_t, MODBUS_TCP_MAX_ADU_LENGTH> query{};
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

class SerialPeer final : public LibmodbusPeer {
 public:
  SerialPeer() : SerialPeer(std::make_unique<tests::SerialCable>()) {}
  ~SerialPeer() override { stop(); }
  std::shared_ptr<Link> link_to(boost::asio::any_io_executor executor) override {
    ModbusRtuSettings settings;
    settings.device = "meter";
    settings.line.path = cable_->one();
    settings.line.resync_silence = 5ms;
    settings.transaction_deadline = 2000ms;
    settings.unit = kUnit;
    return make_modbus_rtu_link(std::move(executor), settings);
  }

 private:
  explicit SerialPeer(std::unique_ptr<tests::SerialCable> cable)
      : LibmodbusPeer(::modbus_new_rtu(cable->other().c_str(), 19200, 'E', 8, 1)),
        cable_(std::move(cable)) {
    if (::modbus_connect(context()) != 0) throw std::runtime_error(::modbus_strerror(errno));
    start();
  }
  bool wait_for_client() override { return true; }

  std::unique_ptr<tests::SerialCable> cable_;
};

class TcpPeer final : public LibmodbusPeer {
 public:
  TcpPeer() : LibmodbusPeer(::modbus_new_tcp("127.0.0.1", 502)) { start(); }
  ~TcpPeer() override { stop(); }
  std::shared_ptr<Link> link_to(boost::asio::any_io_executor executor) override {
    ModbusTcpSettings settings;
    settings.device = "meter";
    settings.host = "127.0.0.1";
    settings.port = acceptor_.local_endpoint().port();
    settings.transaction_deadline = 2000ms;
    settings.unit = kUnit;
    return make_modbus_tcp_link(std::move(executor), settings);
  }

 private:
  bool wait_for_client() override {
    pollfd asked{acceptor_.native_handle(), POLLIN, 0};
    if (::poll(&asked, 1, 20) <= 0) return false;
    int listening = acceptor_.native_handle();
    return ::modbus_tcp_accept(context(), &listening) >= 0;
  }

  boost::asio::io_context io_;
  boost::asio::ip::tcp::acceptor acceptor_{io_, {boost::asio::ip::address_v4::loopback(), 0}};
};

struct AnyPeer {
  const char* name;
  std::unique_ptr<LibmodbusPeer> (*make)();
};
void PrintTo(const AnyPeer& peer, std::ostream* out) { *out << peer.name; }

class AgainstLibmodbus : public LinkTest, public ::testing::WithParamInterface<AnyPeer> {
 protected:
  std::unique_ptr<LibmodbusPeer> device = GetParam().make();

  void SetUp() override {
    open(device->link_to(io.get_executor()));
    until_open();
  }
};

TEST_P(AgainstLibmodbus, ReadsInputAndHoldingRegistersAndBits) {
  device->map().tab_input_registers[3] = 0x1234;
  device->map().tab_registers[9] = 0xfffe;
  device->map().tab_bits[2] = 1;
  device->map().tab_input_bits[10] = 1;
  const ReadAnswer answer = read({{4, 3, 1}, {3, 8, 2}, {1, 1, 3}, {2, 2, 10}});
  ASSERT_FALSE(answer.error) << answer.error->text;
  EXPECT_THAT(answer.spans[0].words, ElementsAre(0x1234));
  EXPECT_THAT(answer.spans[1].words, ElementsAre(0, 0xfffe));
  EXPECT_THAT(answer.spans[2].words, ElementsAre(0, 1, 0));
  EXPECT_THAT(answer.spans[3].words, ElementsAre(0, 0, 0, 0, 0, 0, 0, 0, 1, 0));
}

TEST_P(AgainstLibmodbus, ReadsALongSpan) {
  for (std::uint16_t i = 0; i < 125; ++i) device->map().tab_input_registers[i] = i;
  const ReadAnswer answer = read({{4, 0, 125}});
  ASSERT_FALSE(answer.error) << answer.error->text;
  EXPECT_EQ(answer.spans[0].words.back(), 124);
}

TEST_P(AgainstLibmodbus, WritesRegistersBitsAndSingleBitsOfRegisters) {
  device->map().tab_registers[20] = 0b1010;
  EXPECT_FALSE(write({10, {77}}));
  EXPECT_FALSE(write({11, {1, 2, 3}}));
  EXPECT_FALSE(write({4, {1}, 5}));
  EXPECT_FALSE(write({20, {0xfff9, 0x0004}, 22}));  // bit 1 off, bit 2 on
  EXPECT_EQ(device->map().tab_registers[10], 77);
  EXPECT_EQ(device->map().tab_registers[13], 3);
  EXPECT_EQ(device->map().tab_bits[4], 1);
  EXPECT_EQ(device->map().tab_registers[20], 0b1100);
}

TEST_P(AgainstLibmodbus, HearsItsExceptions) {
  const ReadAnswer answer = read({{4, 500, 1}, {4, 3, 1}});
  EXPECT_EQ(answer.spans.at(0).exception, 2);
  EXPECT_EQ(answer.spans.at(1).exception, 0);
  EXPECT_THAT(write({900, {1}}).value().text, HasSubstr("register 900: illegal data address"));
  EXPECT_THAT(losses, IsEmpty());
}

INSTANTIATE_TEST_SUITE_P(Wires, AgainstLibmodbus,
                         ::testing::Values(AnyPeer{"Serial",
                                                   []() -> std::unique_ptr<LibmodbusPeer> {
                                                     return std::make_unique<SerialPeer>();
                                                   }},
                                           AnyPeer{"Tcp",
                                                   []() -> std::unique_ptr<LibmodbusPeer> {
                                                     return std::make_unique<TcpPeer>();
                                                   }}),
                         [](const auto& info) { return std::string(info.param.name); });

}  // namespace
}  // namespace endgate::daemon

// A bench behind real sockets, served from a thread of the test.

#pragma once

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <modbus/modbus.h>

#include <boost/asio/read.hpp>
#include <boost/asio/read_until.hpp>
#include <boost/asio/write.hpp>
#include <memory>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "fixtures/bench/control_server.h"
#include "fixtures/bench/modbus_frame.h"
#include "fixtures/bench/modbus_server.h"
#include "fixtures/bench/waveform_server.h"

namespace simbench {

class ServedBench {
 public:
  explicit ServedBench(double rate = 1, const InstrumentsOptions& options = {})
      : instruments_(options),
        bench_(io_, instruments_, rate),
        wire_(io_, any_port(), bench_),
        serial_(io_, any_port(), bench_, modbus_rtu_front),
        text_(io_, any_port(), bench_, text_front),
        control_(io_, any_port(), bench_, wire_, Population(1)),
        port_(wire_.port()),
        serial_port_(serial_.port()),
        text_port_(text_.port()),
        control_port_(control_.port()) {
    bench_.start();
    wire_.start();
    serial_.start();
    text_.start();
    control_.start();
    if (options.waveform_hz > 0) {
      waveform_.emplace(io_, any_port(), bench_);
      waveform_port_ = waveform_->port();
      waveform_->start();
    }
    thread_ = std::thread([this] { io_.run(); });
  }
  ~ServedBench() {
    io_.stop();
    thread_.join();
  }
  ServedBench(const ServedBench&) = delete;
  ServedBench& operator=(const ServedBench&) = delete;

  [[nodiscard]] std::uint16_t port() const { return port_; }
  [[nodiscard]] std::uint16_t control_port() const { return control_port_; }
  [[nodiscard]] std::uint16_t serial_port() const { return serial_port_; }  // RTU frames over TCP
  [[nodiscard]] std::uint16_t text_port() const { return text_port_; }
  [[nodiscard]] std::uint16_t waveform_port() const { return waveform_port_; }  // 0: none

 private:
  static boost::asio::ip::tcp::endpoint any_port() {
    return {boost::asio::ip::address_v4::loopback(), 0};
  }

  Instruments instruments_;
  boost::asio::io_context io_{1};
  BenchLoop bench_;
  ModbusServer wire_, serial_, text_;
  ControlServer control_;
  std::optional<WaveformServer> waveform_;
  std::uint16_t port_, serial_port_, text_port_, control_port_, waveform_port_ = 0;
  std::thread thread_;
};

// An independent peer: libmodbus.
class Libmodbus {
 public:
  explicit Libmodbus(std::uint16_t port, int unit = 1)
      : link_(modbus_new_tcp("127.0.0.1", port), &modbus_free) {
    modbus_set_slave(link_.get(), unit);
    modbus_set_response_timeout(link_.get(), 5, 0);
    EXPECT_EQ(modbus_connect(link_.get()), 0) << modbus_strerror(errno);
  }
  ~Libmodbus() { modbus_close(link_.get()); }
  Libmodbus(const Libmodbus&) = delete;
  Libmodbus& operator=(const Libmodbus&) = delete;

  // What was read; empty when it was refused (then errno says how).
  [[nodiscard]] Words input(int address, int count) {
    Words words(static_cast<std::size_t>(count));
    if (modbus_read_input_registers(link_.get(), address, count, words.data()) != count) return {};
    return words;
  }
  [[nodiscard]] Words holding(int address, int count) {
    Words words(static_cast<std::size_t>(count));
    if (modbus_read_registers(link_.get(), address, count, words.data()) != count) return {};
    return words;
  }
  // 0, or libmodbus's errno of the refusal.
  int write(int address, std::uint16_t value) {
    return modbus_write_register(link_.get(), address, value) == 1 ? 0 : errno;
  }
  int write(int address, const Words& values) {
    const int count = static_cast<int>(values.size());
    return modbus_write_registers(link_.get(), address, count, values.data()) == count ? 0 : errno;
  }
  [[nodiscard]] modbus_t* raw() const { return link_.get(); }

 private:
  std::unique_ptr<modbus_t, decltype(&modbus_free)> link_;
};

// Bytes as they are.
class RawLink {
 public:
  explicit RawLink(std::uint16_t port) : socket_(io_) {
    socket_.connect({boost::asio::ip::address_v4::loopback(), port});
  }
  void send(const Bytes& bytes) { boost::asio::write(socket_, boost::asio::buffer(bytes)); }
  [[nodiscard]] Bytes receive(std::size_t size) {
    Bytes bytes(size);
    boost::asio::read(socket_, boost::asio::buffer(bytes));
    return bytes;
  }
  // True when the other end has closed and nothing more came.
  [[nodiscard]] bool ends() {
    std::uint8_t byte = 0;
    boost::system::error_code error;
    socket_.read_some(boost::asio::buffer(&byte, 1), error);
    return error == boost::asio::error::eof || error == boost::asio::error::connection_reset;
  }
  // A line out, a line back.
  [[nodiscard]] std::string ask(const std::string& line) {
    boost::asio::write(socket_, boost::asio::buffer(line + "\n"));
    std::string reply;
    const std::size_t size =
        boost::asio::read_until(socket_, boost::asio::dynamic_buffer(reply), '\n');
    return reply.substr(0, size - 1);
  }

 private:
  boost::asio::io_context io_;
  boost::asio::ip::tcp::socket socket_;
};

inline Bytes frame(std::uint16_t transaction, const Bytes& pdu, std::uint8_t unit = 1) {
  const std::size_t length = pdu.size() + 1;
  Bytes bytes{static_cast<std::uint8_t>(transaction >> 8U),
              static_cast<std::uint8_t>(transaction & 0xffU),
              0,
              0,
              static_cast<std::uint8_t>(length >> 8U),
              static_cast<std::uint8_t>(length & 0xffU),
              unit};
  bytes.insert(bytes.end(), pdu.begin(), pdu.end());
  return bytes;
}

}  // namespace simbench

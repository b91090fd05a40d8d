// What the benchmarks of motor off share: a scripted device with a stop-watch, laid out like the
// simulated bench's register map, and the bare round trip beside it.
//
// The watch starts when the device hands the answer with a sample beyond its limit to its socket and
// stops when it has read the off-frame.

#pragma once

#include <algorithm>
#include <array>
#include <atomic>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/read.hpp>
#include <boost/asio/write.hpp>
#include <cstdio>
#include <optional>
#include <thread>
#include <vector>

#include "tests/support/scripted_modbus_peer.h"

namespace endgate::tests {

using namespace std::chrono_literals;
using Steady = std::chrono::steady_clock;
using Ask = ScriptedModbusPeer::Ask;
using Milliseconds = std::vector<double>;

inline constexpr std::uint16_t kRelay = 102, kHead = 9;
inline constexpr std::uint16_t kHeadGood = 500, kHeadBeyond = 4000;  // 25 and 200 degC
inline constexpr double kLimit_k = 400;

inline double ms_since(Steady::time_point since) {
  return std::chrono::duration<double, std::milli>(Steady::now() - since).count();
}

// The device and its stop-watch; everything on its own thread but `over` and `count`.
class TimedDevice {
 public:
  TimedDevice() {
    peer_.before_answer = [this](const Ask& ask) { answer(ask); };
    peer_.tamper = [this](const Ask& ask, ScriptedModbusPeer::Bytes&) { begin(ask); };
    port_ = peer_.port();
    thread_ = std::thread([this] { io_.run(); });
  }
  ~TimedDevice() { stop(); }
  void stop() {
    io_.stop();
    if (thread_.joinable()) thread_.join();
  }
  [[nodiscard]] std::uint16_t port() const { return port_; }
  [[nodiscard]] Milliseconds taken() const { return taken_; }  // after stop()

  std::atomic<bool> over{false};
  std::atomic<int> count{0};

 private:
  void answer(const Ask& ask) {
    if (ask.writes(kRelay, 0) && begun_) {
      taken_.push_back(std::chrono::duration<double, std::milli>(ask.at - *begun_).count());
      begun_.reset();
      over = false;
      ++count;
    }
    const auto counter = static_cast<std::uint32_t>(ms_since(born_));
    auto& in = peer_.input;
    in[0] = static_cast<std::uint16_t>(counter >> 16);
    in[1] = static_cast<std::uint16_t>(counter & 0xffff);
    in[2] = status();
    in[3] = 2500;  // vented
    in[8] = 50'000;
    in[kHead] = over ? kHeadBeyond : kHeadGood;
    in[10] = in[11] = 1250;
    in[12] = 4500;
    in[14] = peer_.holding[103];
    in[15] = peer_.holding[104];
  }

  std::uint16_t status() {
    constexpr std::pair<std::uint16_t, int> kBits[] = {{102, 2}, {106, 5}, {105, 6},
                                                       {108, 7}, {109, 8}, {107, 9}};
    int word = 1 | 2 | 8;  // cover, emergency stop, lease
    for (const auto& [address, bit] : kBits) word |= (peer_.holding[address] & 1) << bit;
    return static_cast<std::uint16_t>(word);
  }

  void begin(const Ask& ask) {
    const bool shows_head =
        ask.function == 4 && ask.address <= kHead && ask.address + ask.count > kHead;
    if (shows_head && peer_.input[kHead] == kHeadBeyond && !begun_) begun_ = Steady::now();
  }

  boost::asio::io_context io_;
  ScriptedModbusPeer peer_{io_};
  Steady::time_point born_ = Steady::now();
  std::optional<Steady::time_point> begun_;
  Milliseconds taken_;
  std::uint16_t port_ = 0;
  std::thread thread_;
};

inline Milliseconds bare_round_trips(int wanted) {
  using boost::asio::ip::tcp;
  boost::asio::io_context io;
  tcp::acceptor acceptor(io, {boost::asio::ip::address_v4::loopback(), 0});
  tcp::socket near(io), far(io);
  near.connect(acceptor.local_endpoint());
  acceptor.accept(far);
  near.set_option(tcp::no_delay(true));
  far.set_option(tcp::no_delay(true));
  std::array<char, 1> here{}, there{};
  std::thread echo([&] {
    boost::system::error_code error;
    while (!error) {
      boost::asio::read(far, boost::asio::buffer(there), error);
      if (!error) boost::asio::write(far, boost::asio::buffer(there), error);
    }
  });
  Milliseconds taken;
  for (int i = 0; i < wanted; ++i) {
    std::this_thread::sleep_for(5ms);  // as rarely as the trips: the processor may be elsewhere
    const auto begun = Steady::now();
    boost::asio::write(near, boost::asio::buffer(here));
    boost::asio::read(near, boost::asio::buffer(here));
    taken.push_back(ms_since(begun));
  }
  near.shutdown(tcp::socket::shutdown_both);
  echo.join();
  return taken;
}

inline void print(const char* what, Milliseconds taken) {
  std::sort(taken.begin(), taken.end());
  const auto at = [&](double share) {
    return taken[static_cast<std::size_t>(share * static_cast<double>(taken.size() - 1))];
  };
  std::printf("%-26s n %5zu  p50 %7.3f ms  p99 %7.3f ms  p99.9 %7.3f ms  max %7.3f ms\n", what,
              taken.size(), at(0.5), at(0.99), at(0.999), taken.back());
}

}  // namespace endgate::tests

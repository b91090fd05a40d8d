// How long from a sample beyond an over-limit to motor off on the wire?
//
//   off_benchmark [TRIPS [HOGS]]
//
// A Bench at rate 1 against a scripted device on a thread of its own.  The clock starts when the
// device hands the answer with the sample to its socket and stops when it has read the off-frame,
// so the figures hold two ways over loopback as well.  HOGS threads keep processors busy beside it.
// In the same run: the bare round trip of one byte over loopback, for a ratio.

#include <algorithm>
#include <array>
#include <atomic>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/read.hpp>
#include <boost/asio/write.hpp>
#include <cstdio>
#include <cstdlib>
#include <iterator>
#include <thread>
#include <vector>

#include "daemon/bench/bench.h"
#include "tests/bench/made_bench.h"
#include "tests/support/scripted_modbus_peer.h"

namespace endgate::tests {
namespace {

using namespace std::chrono_literals;
using Steady = std::chrono::steady_clock;
using Ask = ScriptedModbusPeer::Ask;
using Milliseconds = std::vector<double>;

constexpr std::uint16_t kRelay = 102, kHead = 9;
constexpr std::uint16_t kHeadGood = 500, kHeadBeyond = 4000;  // 25 and 200 degC
constexpr double kLimit_k = 400;

double ms_since(Steady::time_point since) {
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
    in[2] = static_cast<std::uint16_t>(1 | 2 | (peer_.holding[kRelay] == 1 ? 4 : 0) | 8);
    in[3] = 2500;  // vented
    in[kHead] = over ? kHeadBeyond : kHeadGood;
    in[15] = peer_.holding[104];
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

BenchDefinition definition_for(std::uint16_t port) {
  BenchDefinition bench = made_bench();
  bench.devices[0].port = port;
  bench.devices[0].transaction_deadline = 1s;
  for (ChannelDefinition& channel : bench.channels) {
    channel.facts.period_s = 0.02;
    channel.facts.silent_after_s = 2;
  }
  OverLimit limit;
  limit.id = "head_temperature_max";
  limit.role = Role::head_temperature;
  limit.limit_si = kLimit_k;
  bench.over_limits = {limit};
  return bench;
}

Milliseconds trips(int wanted) {
  TimedDevice device;
  boost::asio::io_context io;
  ModelDefinition model = made_model();
  model.sequence[0].duration_s = 5;  // the trip comes in the zero step
  int otherwise = 0;
  BenchEvents events;
  events.finished = [&](const FinishedTest& test) {
    if (test.trace.trip) return;
    ++otherwise;  // silence or a late clock came first on a busy machine
    device.over = false;
  };
  Bench bench(io, definition_for(device.port()), {}, std::move(events));
  bench.connect();
  while (device.count < wanted) {
    io.run_one_for(5ms);
    if (bench.live().condition == BenchCondition::motor_unknown)
      (void)bench.clear_motor_alarm("benchmark");  // off that is read back late latches
    if (bench.live().condition != BenchCondition::ready || device.over ||
        bench.start_refused(model))
      continue;
    bench.start(model);
    device.over = true;
  }
  device.stop();
  std::printf("tests that ended otherwise: %d\n", otherwise);
  return device.taken();
}

Milliseconds bare_round_trips(int wanted) {
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

void print(const char* what, Milliseconds taken) {
  std::sort(taken.begin(), taken.end());
  const auto at = [&](double share) {
    return taken[static_cast<std::size_t>(share * static_cast<double>(taken.size() - 1))];
  };
  std::printf("%-26s n %5zu  p50 %7.3f ms  p99 %7.3f ms  p99.9 %7.3f ms  max %7.3f ms\n", what,
              taken.size(), at(0.5), at(0.99), at(0.999), taken.back());
}

}  // namespace
}  // namespace endgate::tests

int main(int argc, char** argv) {
  using namespace endgate::tests;
  const int wanted = argc > 1 ? std::atoi(argv[1]) : 1000;
  const int hogs = argc > 2 ? std::atoi(argv[2]) : 0;
  std::atomic<bool> busy{true};
  std::vector<std::thread> load;
  for (int i = 0; i < hogs; ++i)
    load.emplace_back([&busy] {
      while (busy) {
      }
    });
  print("over-limit to off-frame", trips(std::max(wanted, 1)));
  print("bare loopback round trip", bare_round_trips(std::max(wanted, 1)));
  busy = false;
  for (std::thread& thread : load) thread.join();
  return 0;
}

// Do sixteen benches in one daemon disturb one another?
//
//   benches_benchmark [SECONDS A PHASE [TURNS [waveform]]]
//
// Sixteen Bench objects at 100 Hz on one io_context, as in the service's I/O thread, against
// sixteen scripted devices on a thread of their own.  With `waveform` every bench has the motor's
// current too, 20 000 samples a second in blocks of 20 ms, from one more thread.  Bench 0 is behind the fault proxy.  Phases
// take turns: its wire passes everything on, or it stalls and comes back, so that its link is lost,
// opened again and lost again all the time.
//
// A poll is timed when its device has read it from its socket.  The ticks of a bench are a fixed
// grid from its connect() on, so its lateness is how far the poll lies behind its point of the
// grid; the way over loopback and the device's own lateness are in it.  A point without a poll is a
// missed one.

#include <time.h>

#include <algorithm>
#include <atomic>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/write.hpp>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <future>
#include <memory>
#include <optional>
#include <thread>
#include <vector>

#include "daemon/bench/bench.h"
#include "fixtures/proxy/fault_proxy.h"
#include "tests/bench/made_bench.h"
#include "tests/links/made_block.h"
#include "tests/support/scripted_modbus_peer.h"

namespace endgate::tests {
namespace {

using namespace std::chrono_literals;
using Steady = std::chrono::steady_clock;
using Moments = std::vector<Steady::time_point>;

constexpr std::size_t kBenches = 16;
constexpr auto kPeriod = 10ms;

double seconds_of_thread() {
  timespec now{};
  ::clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

// Every device, and the proxy before the first; all on a thread of their own.
class Devices {
 public:
  Devices() : polls_(kBenches) {
    for (std::size_t i = 0; i < kBenches; ++i) {
      peers_.push_back(std::make_unique<ScriptedModbusPeer>(io_));
      peers_[i]->before_answer = [this, i](const ScriptedModbusPeer::Ask& ask) { answer(i, ask); };
      ports_.push_back(peers_[i]->port());
    }
    const boost::asio::ip::address_v4 loopback = boost::asio::ip::address_v4::loopback();
    proxy_ = std::make_unique<faultproxy::FaultProxy>(
        io_, boost::asio::ip::tcp::endpoint(loopback, 0),
        boost::asio::ip::tcp::endpoint(loopback, ports_[0]));
    ports_[0] = proxy_->port();
    proxy_->start();
    thread_ = std::thread([this] { io_.run(); });
  }
  ~Devices() {
    io_.stop();
    thread_.join();
  }
  [[nodiscard]] std::uint16_t port(std::size_t bench) const { return ports_[bench]; }
  void set_fault(const char* line) {
    const auto fault = std::get<faultproxy::ProxyFault>(faultproxy::parse_fault(line));
    boost::asio::post(io_, [this, fault] { proxy_->set(fault); });
  }
  // What was heard since the last call, by bench.
  [[nodiscard]] std::vector<Moments> take() {
    std::promise<std::vector<Moments>> taken;
    boost::asio::post(io_, [&] {
      taken.set_value(std::exchange(polls_, std::vector<Moments>(kBenches)));
      for (const auto& peer : peers_) peer->asked.clear();
    });
    return taken.get_future().get();
  }

 private:
  void answer(std::size_t bench, const ScriptedModbusPeer::Ask& ask) {
    if (ask.function == 4) polls_[bench].push_back(ask.at);
    const auto counter = static_cast<std::uint32_t>(
        std::chrono::duration_cast<std::chrono::milliseconds>(ask.at - born_).count());
    auto& in = peers_[bench]->input;
    in[0] = static_cast<std::uint16_t>(counter >> 16);
    in[1] = static_cast<std::uint16_t>(counter & 0xffff);
    in[2] = static_cast<std::uint16_t>(1 | 2 | 8 | (peers_[bench]->holding[102] == 1 ? 4 : 0));
    in[3] = 2500;
    in[9] = 500;
    in[15] = peers_[bench]->holding[104];
  }

  boost::asio::io_context io_;
  std::vector<std::unique_ptr<ScriptedModbusPeer>> peers_;
  std::unique_ptr<faultproxy::FaultProxy> proxy_;
  std::vector<std::uint16_t> ports_;
  std::vector<Moments> polls_;
  Steady::time_point born_ = Steady::now();
  std::thread thread_;
};

// One listener; whoever connects gets the blocks.
class Streams {
 public:
  Streams() {
    accept();
    tick(Steady::now());
    thread_ = std::thread([this] { io_.run(); });
  }
  ~Streams() {
    io_.stop();
    thread_.join();
  }
  [[nodiscard]] std::uint16_t port() const { return port_; }

 private:
  using Socket = boost::asio::ip::tcp::socket;
  using BlockBytes = std::shared_ptr<const std::vector<std::uint8_t>>;

  void accept() {
    acceptor_.async_accept([this](boost::system::error_code error, Socket socket) {
      if (error) return;
      socket.set_option(boost::asio::ip::tcp::no_delay(true));
      clients_.push_back(std::make_shared<Socket>(std::move(socket)));
      accept();
    });
  }
  void tick(Steady::time_point at) {
    timer_.expires_at(at);
    timer_.async_wait([this, at](boost::system::error_code stopped) {
      if (stopped) return;
      made_.first_us += 20'000;
      ++made_.sequence;
      const auto block = std::make_shared<const std::vector<std::uint8_t>>(made_.bytes());
      for (const auto& client : clients_)
        boost::asio::async_write(*client, boost::asio::buffer(*block),
                                 [block, client](boost::system::error_code, std::size_t) {});
      tick(at + 20ms);
    });
  }

  boost::asio::io_context io_;
  boost::asio::ip::tcp::acceptor acceptor_{io_, {boost::asio::ip::address_v4::loopback(), 0}};
  const std::uint16_t port_ = acceptor_.local_endpoint().port();
  boost::asio::steady_timer timer_{io_};
  MadeBlock made_{
      1, 1'000'000, 50'000, {{daemon::SampleType::int16, std::vector<std::int32_t>(400, 1234)}}};
  std::vector<std::shared_ptr<Socket>> clients_;
  std::thread thread_;
};

void add_waveform(BenchDefinition& bench, std::uint16_t port) {
  DeviceDefinition device = bench.devices[0];
  device.id = "daq";
  device.link = LinkKind::sample_stream;
  device.port = port;
  bench.devices.push_back(device);
  bench.current_waveform.emplace();
  bench.current_waveform->source = {"daq", 4, 0, RegisterType::i16, WordOrder::high_first, {}};
  bench.current_waveform->source.column = 0;
}

BenchDefinition definition_of(std::size_t number, std::uint16_t port) {
  BenchDefinition bench = made_bench();
  bench.id = "bench-" + std::to_string(number);
  bench.devices[0].port = port;
  for (ChannelDefinition& channel : bench.channels)
    channel.facts.period_s = std::chrono::duration<double>(kPeriod).count();
  return bench;
}

struct Tally {
  std::vector<double> late_ms;
  std::size_t missed = 0;
  double cpu_s = 0, wall_s = 0;

  void add(const Moments& polls, Steady::time_point epoch) {
    const auto grid = std::chrono::duration<double, std::milli>(kPeriod).count();
    std::optional<double> before;
    for (const auto& poll : polls) {
      const double ms = std::chrono::duration<double, std::milli>(poll - epoch).count();
      const double point = std::floor(ms / grid);
      if (point == before) continue;  // a second request of one round
      late_ms.push_back(ms - grid * point);
      if (before) missed += static_cast<std::size_t>(point - *before) - 1;
      before = point;
    }
  }
  [[nodiscard]] double at(double share) {
    std::sort(late_ms.begin(), late_ms.end());
    return late_ms[static_cast<std::size_t>(share * static_cast<double>(late_ms.size() - 1))];
  }
  void say(const char* what) {
    std::printf(
        "%-22s polls %7zu  missed %4zu  late p50 %6.3f  p99 %6.3f  max %7.3f ms  I/O thread %4.1f %%\n",
        what, late_ms.size(), missed, at(0.5), at(0.99), at(1), 100 * cpu_s / wall_s);
  }
};

class Daemon {
 public:
  // `waveform`: the port of the streams, or 0.
  Daemon(Devices& devices, std::uint16_t waveform) : devices_(devices) {
    for (std::size_t i = 0; i < kBenches; ++i) {
      BenchDefinition definition = definition_of(i, devices.port(i));
      if (waveform != 0) add_waveform(definition, waveform);
      benches_.push_back(std::make_unique<Bench>(
          io_, std::move(definition), std::vector<analysis::ChannelCalibration>{}, BenchEvents{}));
      epochs_.push_back(Steady::now());
      benches_.back()->connect();
    }
    run_until(Steady::now() + 2s);
  }
  // Of the neighbours: benches 1 to 15.
  void phase(Tally& tally, double seconds, bool sick) {
    (void)devices_.take();
    const auto begun = Steady::now();
    const double cpu = seconds_of_thread();
    const auto end = begun + std::chrono::duration_cast<Steady::duration>(
                                 std::chrono::duration<double>(seconds));
    for (bool stalls = sick; Steady::now() < end; stalls = sick && !stalls) {
      devices_.set_fault(stalls ? "stall" : "pass");
      run_until(std::min(end, Steady::now() + 400ms));
    }
    devices_.set_fault("pass");
    tally.cpu_s += seconds_of_thread() - cpu;
    tally.wall_s += std::chrono::duration<double>(Steady::now() - begun).count();
    const auto polls = devices_.take();
    for (std::size_t i = 1; i < kBenches; ++i) tally.add(polls[i], epochs_[i]);
    run_until(Steady::now() + 3s);  // it comes back
  }

 private:
  void run_until(Steady::time_point end) { io_.run_until(end); }

  Devices& devices_;
  boost::asio::io_context io_;
  std::vector<std::unique_ptr<Bench>> benches_;
  std::vector<Steady::time_point> epochs_;
};

}  // namespace
}  // namespace endgate::tests

int main(int argc, char** argv) {
  using namespace endgate::tests;
  const double seconds = argc > 1 ? std::atof(argv[1]) : 10;
  const int turns = argc > 2 ? std::atoi(argv[2]) : 4;
  Devices devices;
  std::optional<Streams> streams;
  if (argc > 3) streams.emplace();
  Daemon daemon(devices, streams ? streams->port() : 0);
  Tally well, sick;
  for (int turn = 0; turn < turns; ++turn) {
    daemon.phase(well, seconds, false);
    daemon.phase(sick, seconds, true);
  }
  well.say("all well");
  sick.say("one stalls, neighbours");
  std::printf("p99 lateness of the neighbours, one sick against all well: %.2f times\n",
              sick.at(0.99) / well.at(0.99));
  return 0;
}

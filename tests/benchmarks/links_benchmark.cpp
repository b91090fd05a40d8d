// How many samples a second does one core take from bytes to calibrated values, for each link,
// against a bare blocking read of the same bytes?  And how long does one poll take, from the question
// to the calibrated values, against the bare round trip?
//
//   links_benchmark [seconds a figure, by the wall]
//
// A device in another thread answers at once with bytes made beforehand, over loopback or a
// pseudo-terminal.  Both clients run in this thread and their processor time is that of the
// thread, so the device and whoever shares the machine do not count.  A figure is samples per
// second of that time; the ratio compares it with the bare client of the same run.  A poll's time is by
// the steady clock, with whatever else this machine does in it; polls follow one another at once.

#include <poll.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <string>
#include <thread>

#include "daemon/bench/frame_maker.h"
#include "daemon/bench/make_link.h"
#include "daemon/bench/poll_plan.h"
#include "daemon/links/modbus_crc.h"
#include "daemon/links/modbus_pdu.h"
#include "tests/bench/made_bench.h"
#include "tests/links/made_block.h"
#include "tests/support/pseudo_terminal.h"
#include "tests/support/temporary_folder.h"

namespace endgate::tests {
namespace {

using Bytes = std::vector<std::uint8_t>;
using boost::asio::ip::tcp;

double thread_seconds() {
  timespec now{};
  ::clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

// Answers every lump of bytes; `streams`: says the same again and again, unasked.
class Device {
 public:
  using Answer = std::function<Bytes(const Bytes& asked)>;
  Device(int handle, Answer answer, bool streams = false)
      : thread_([this, handle, answer, streams] { serve(handle, answer, streams); }) {}
  ~Device() {
    stop_ = true;
    thread_.join();
  }

 private:
  void serve(int handle, const Answer& answer, bool streams) {
    Bytes asked(512);
    while (!stop_) {
      pollfd wait{handle, static_cast<short>(streams ? POLLOUT : POLLIN), 0};
      if (::poll(&wait, 1, 20) <= 0) continue;
      if (!streams) {
        asked.resize(512);
        const auto count = ::read(handle, asked.data(), asked.size());
        if (count <= 0) return;
        asked.resize(static_cast<std::size_t>(count));
      }
      if (!send(handle, answer(asked))) return;
    }
  }

  bool send(int handle, const Bytes& bytes) {
    std::size_t at = 0;
    while (at < bytes.size() && !stop_) {
      pollfd wait{handle, POLLOUT, 0};
      if (::poll(&wait, 1, 20) <= 0) continue;
      const auto count =
          ::write(handle, bytes.data() + at, std::min<std::size_t>(4096, bytes.size() - at));
      if (count <= 0) return false;
      at += static_cast<std::size_t>(count);
    }
    return true;
  }

  std::atomic<bool> stop_{false};
  std::thread thread_;
};

struct Figure {
  double samples = 0;
  double seconds = 0;  // of processor time
  std::vector<double> poll_us;
  [[nodiscard]] double rate() const { return samples / seconds; }
  [[nodiscard]] double poll_at(double share) const {
    std::vector<double> sorted = poll_us;
    std::sort(sorted.begin(), sorted.end());
    return sorted[static_cast<std::size_t>(share * static_cast<double>(sorted.size() - 1))];
  }
};

// Runs `round`, which tells how many samples it brought, for so long.
template <class Round>
Figure figure_of(double seconds, Round round) {
  using Clock = std::chrono::steady_clock;
  const auto until = Clock::now() + std::chrono::duration<double>(seconds);
  Figure figure;
  const double start = thread_seconds();
  for (auto begun = Clock::now(); begun < until;) {
    figure.samples += round();
    const auto ended = Clock::now();
    figure.poll_us.push_back(std::chrono::duration<double, std::micro>(ended - begun).count());
    begun = ended;
  }
  figure.seconds = thread_seconds() - start;
  return figure;
}

// One question and its whole answer, or the next bytes of a stream, by blocking calls.
Figure bare(int handle, const Bytes& ask, std::size_t answer_bytes, double samples,
            double seconds) {
  Bytes buffer(std::max<std::size_t>(answer_bytes, 1));
  return figure_of(seconds, [&] {
    if (!ask.empty() && ::write(handle, ask.data(), ask.size()) < 0) std::abort();
    std::size_t got = 0;
    while (got < answer_bytes) {
      const auto count = ::read(handle, buffer.data() + got, answer_bytes - got);
      if (count <= 0) std::abort();
      got += static_cast<std::size_t>(count);
    }
    return samples;
  });
}

// The same through link, frame and calibration.
class Client {
 public:
  explicit Client(const BenchDefinition& bench)
      : bench_(bench),
        plan_(bench),
        maker_(bench, {}),
        link_(make_link(io_.get_executor(), bench.devices[0])) {
    link_->open(
        {[] {}, [](const LinkError& why) { std::fprintf(stderr, "%s\n", why.text.c_str()); }});
    while (!link_->is_open()) io_.run_one();
  }
  ~Client() { link_->close(); }

  Figure run(double seconds) {
    std::int64_t tick = 0;
    return figure_of(seconds, [&] { return static_cast<double>(round(tick++)); });
  }

 private:
  std::size_t round(std::int64_t tick) {
    const PollRound due = plan_.round(tick);
    std::vector<RegisterSpan> spans;
    for (const DeviceSpan& span : due.spans)
      spans.push_back({span.function, span.address, span.count});
    std::optional<ReadAnswer> answer;
    link_->read(std::move(spans), [&](ReadAnswer given) { answer = std::move(given); });
    while (!answer) io_.run_one();
    if (answer->error) std::abort();
    RoundAnswer whole;
    whole.channels = due.channels;
    whole.sent = answer->spans.front().sent;
    whole.arrived = answer->spans.back().arrived;
    whole.devices = {{0, whole.sent, whole.arrived, answer->spans.front().blocks}};
    for (std::size_t i = 0; i < due.spans.size(); ++i)
      whole.image.put(due.spans[i], std::move(answer->spans[i].words));
    const auto picture = maker_.make(whole);
    double sum = 0;  // every sample calibrated, as steering, trips and pages would
    for (const Reading& reading : picture->frame.readings)
      sum += maker_.channels().value_si(reading);
    sink_ = sum;
    return picture->frame.readings.size();
  }

  boost::asio::io_context io_;
  // A recorded run has nothing outstanding while nobody asks.
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> alive_{
      io_.get_executor()};
  BenchDefinition bench_;
  PollPlan plan_;
  FrameMaker maker_;
  std::shared_ptr<Link> link_;
  volatile double sink_ = 0;
};

// All channels of the made bench at one period, without clock, interlocks and read-backs.
BenchDefinition plain_bench(LinkKind link) {
  BenchDefinition bench = made_bench();
  bench.clock.reset();
  bench.interlocks = {};
  for (ActuatorDefinition& actuator : bench.actuators) actuator.read_back.reset();
  for (ChannelDefinition& channel : bench.channels) channel.facts.period_s = 0.02;
  bench.devices[0].link = link;
  bench.devices[0].transaction_deadline = std::chrono::milliseconds(2000);
  return bench;
}

void report(const char* name, const Figure& ours, const Figure& bare_figure) {
  std::printf(
      "%-20s %10.0f samples/s of core, bare %10.0f, %6.2f times the bare time; a poll p50 %7.1f p99 "
      "%7.1f us, bare p50 %7.1f p99 %7.1f us\n",
      name, ours.rate(), bare_figure.rate(), bare_figure.rate() / ours.rate(), ours.poll_at(0.5),
      ours.poll_at(0.99), bare_figure.poll_at(0.5), bare_figure.poll_at(0.99));
  std::fflush(stdout);
}

// A loopback connection whose far end a device serves.
struct Loopback {
  boost::asio::io_context io;
  tcp::acceptor acceptor{io, tcp::endpoint(boost::asio::ip::address_v4::loopback(), 0)};
  std::uint16_t port() { return acceptor.local_endpoint().port(); }

  Figure bare_figure(const Device::Answer& answer, bool streams, const Bytes& ask,
                     std::size_t answer_bytes, double samples, double seconds) {
    tcp::socket near(io);
    near.connect(acceptor.local_endpoint());
    near.set_option(tcp::no_delay(true));
    tcp::socket far = acceptor.accept();
    far.set_option(tcp::no_delay(true));
    const Figure figure = [&] {
      const Device device(far.native_handle(), answer, streams);
      return bare(near.native_handle(), ask, answer_bytes, samples, seconds);
    }();
    return figure;
  }

  Figure our_figure(BenchDefinition bench, const Device::Answer& answer, bool streams,
                    double seconds) {
    bench.devices[0].host = "127.0.0.1";
    bench.devices[0].port = port();
    std::optional<tcp::socket> far;
    std::unique_ptr<Device> device;
    std::thread accepting([&] {
      far.emplace(acceptor.accept());
      far->set_option(tcp::no_delay(true));
      device = std::make_unique<Device>(far->native_handle(), answer, streams);
    });
    Figure figure;
    {
      Client client(bench);
      figure = client.run(seconds);
    }
    accepting.join();
    return figure;
  }
};

Bytes modbus_answer(const Bytes& asked, bool rtu) {
  const std::size_t pdu_at = rtu ? 1 : 7;
  const std::size_t count = asked[pdu_at + 4];
  Bytes bytes(asked.begin(), asked.begin() + static_cast<long>(pdu_at + 1));
  bytes.push_back(static_cast<std::uint8_t>(2 * count));
  bytes.resize(bytes.size() + 2 * count, 0x11);
  if (!rtu) {
    bytes[4] = 0;
    bytes[5] = static_cast<std::uint8_t>(3 + 2 * count);
    return bytes;
  }
  const std::uint16_t crc = daemon::modbus::crc_of(bytes);
  bytes.push_back(static_cast<std::uint8_t>(crc & 0xff));
  bytes.push_back(static_cast<std::uint8_t>(crc >> 8));
  return bytes;
}

void modbus_tcp(double seconds) {
  const auto answer = [](const Bytes& asked) { return modbus_answer(asked, false); };
  const Bytes ask = daemon::modbus::encode({1, 1, 4, 3, 11, {}});
  Loopback wire;
  const Figure plain = wire.bare_figure(answer, false, ask, 9 + 22, 7, seconds);
  report("modbus_tcp", wire.our_figure(plain_bench(LinkKind::modbus_tcp), answer, false, seconds),
         plain);
}

// The silence between frames is a pause, not work: the clients differ in time, not in what is
// shown.
void modbus_rtu(double seconds) {
  using daemon::modbus::Framing;
  const auto answer = [](const Bytes& asked) { return modbus_answer(asked, true); };
  PseudoTerminal line;
  const Device device(line.master(), answer);
  const Bytes ask = daemon::modbus::encode({1, 1, 4, 3, 11, {}}, Framing::rtu);
  const int handle = ::open(line.path().c_str(), O_RDWR | O_NOCTTY);
  const Figure plain = bare(handle, ask, 5 + 22, 7, seconds);
  ::close(handle);
  BenchDefinition bench = plain_bench(LinkKind::modbus_rtu);
  bench.devices[0].line.path = line.path();
  bench.devices[0].transaction_deadline = std::chrono::milliseconds(200);
  Client client(bench);
  report("modbus_rtu", client.run(seconds), plain);
}

// An instrument that answers seven joined queries.
Bytes scpi_answer(const Bytes& asked) {
  const std::string text(asked.begin(), asked.end());
  std::string said = "0,\"No error\"\n";
  if (text.starts_with("MEAS")) {
    said.clear();
    for (int i = 0; i < 7; ++i) said += i == 0 ? "+1.234567E+01" : ";+1.234567E+01";
    said += "\n";
  }
  return {said.begin(), said.end()};
}

BenchDefinition scpi_bench(LinkKind link) {
  BenchDefinition bench = plain_bench(link);
  bench.devices[0].join_queries = true;
  for (std::size_t i = 0; i < bench.channels.size(); ++i) {
    bench.devices[0].queries.push_back({"MEAS" + std::to_string(i) + "?", "{number}"});
    bench.channels[i].source.type = RegisterType::f64;
    bench.channels[i].source.no_value = {};
    bench.channels[i].source.address = static_cast<std::uint16_t>(4 * i);
  }
  return bench;
}

Bytes scpi_question(const BenchDefinition& bench) {
  std::string joined;
  for (const QueryDefinition& query : bench.devices[0].queries)
    joined += (joined.empty() ? "" : ";:") + query.text;
  joined += "\n";
  return {joined.begin(), joined.end()};
}

void scpi_tcp(double seconds) {
  const BenchDefinition bench = scpi_bench(LinkKind::scpi_tcp);
  const Bytes ask = scpi_question(bench);
  Loopback wire;
  const Figure plain =
      wire.bare_figure(scpi_answer, false, ask, scpi_answer(ask).size(), 7, seconds);
  report("scpi_tcp", wire.our_figure(bench, scpi_answer, false, seconds), plain);
}

void scpi_serial(double seconds) {
  BenchDefinition bench = scpi_bench(LinkKind::scpi_serial);
  const Bytes ask = scpi_question(bench);
  PseudoTerminal line;
  const Device device(line.master(), scpi_answer);
  const int handle = ::open(line.path().c_str(), O_RDWR | O_NOCTTY);
  const Figure plain = bare(handle, ask, scpi_answer(ask).size(), 7, seconds);
  ::close(handle);
  bench.devices[0].line.path = line.path();
  bench.devices[0].transaction_deadline = std::chrono::milliseconds(200);
  Client client(bench);
  report("scpi_serial", client.run(seconds), plain);
}

// 16 ms of three columns at a time.
void sample_stream(double seconds, int rate_hz) {
  MadeBlock made;
  const auto count = static_cast<std::size_t>(rate_hz * 16 / 1000);
  const std::vector<std::int32_t> samples(count, 1234);
  made.period_ns = static_cast<std::uint32_t>(1'000'000'000 / rate_hz);
  made.columns.assign(3, {daemon::SampleType::int16, samples});
  const auto next = [&made](const Bytes&) {
    ++made.sequence;
    made.first_us += 16'000;
    return made.bytes();
  };
  BenchDefinition bench = plain_bench(LinkKind::sample_stream);
  bench.channels.resize(3);
  for (std::size_t i = 0; i < 3; ++i) {
    bench.channels[i].source.column = static_cast<int>(i);
    bench.channels[i].source.type = RegisterType::i16;
    bench.channels[i].facts.period_s = 1.0 / rate_hz;
  }
  Loopback wire;
  const auto values = 3 * static_cast<double>(count);
  const Figure plain = wire.bare_figure(next, true, {}, made.bytes().size(), values, seconds);
  report(("stream " + std::to_string(rate_hz) + " Hz").c_str(),
         wire.our_figure(bench, next, true, seconds), plain);
}

// Rows of a millisecond, played a hundred times as fast; the bare client reads the bytes of a row.
void recorded_run(double seconds) {
  const test::TemporaryFolder folder;
  const std::string file = folder.path() / "run.csv";
  BenchDefinition bench = plain_bench(LinkKind::recorded_run);
  std::string names = "time_s,set_motor_relay";
  for (std::size_t i = 0; i < bench.channels.size(); ++i) {
    ChannelDefinition& channel = bench.channels[i];
    bench.devices[0].recording.columns.push_back(channel.facts.id);
    names += "," + channel.facts.id;
    channel.source.type = RegisterType::f64;
    channel.source.no_value = {};
    channel.source.address = static_cast<std::uint16_t>(4 * i);
  }
  const std::string cells(",0,101325.5,1.234e-4,13.4567,7.6543,47.123,301.25,12.5");
  std::ofstream out(file, std::ios::binary);
  out << names << '\n';
  constexpr int kRows = 300'000;
  for (int row = 0; row < kRows; ++row) out << std::to_string(0.001 * row) << cells << '\n';
  out << kRows / 1000 + 1 << ",1,0,0,0,0,0,0,0\n";
  out.close();
  bench.devices[0].recording.file = file;
  bench.devices[0].recording.rate = 100;
  bench.devices[0].commands = {"motor_relay"};
  const int handle = ::open(file.c_str(), O_RDONLY);
  Bytes buffer(cells.size() + 9);
  const Figure plain = figure_of(seconds, [&] {
    if (::read(handle, buffer.data(), buffer.size()) <= 0) ::lseek(handle, 0, SEEK_SET);
    return 7.0;
  });
  ::close(handle);
  Client client(bench);
  report("recorded_run", client.run(seconds), plain);
}

}  // namespace
}  // namespace endgate::tests

int main(int argc, char** argv) {
  const double seconds = argc > 1 ? std::atof(argv[1]) : 1;
  for (int i = 0; i < 3; ++i) {
    endgate::tests::modbus_tcp(seconds);
    endgate::tests::modbus_rtu(seconds);
    endgate::tests::scpi_tcp(seconds);
    endgate::tests::scpi_serial(seconds);
    endgate::tests::sample_stream(seconds, 20'000);
    endgate::tests::sample_stream(seconds, 50'000);
    endgate::tests::recorded_run(seconds);
  }
}

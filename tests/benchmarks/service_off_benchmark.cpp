// How long from a sample beyond an over-limit to motor off on the wire, in the whole service, while
// its web side is flooded, trends are asked for and backups are made?
//
//   service_off_benchmark [TRIPS [quiet]]
//
// The service with its HTTP server, store and one bench at rate 1, against a scripted device on a
// thread of its own: each trip is a test of another unit, scanned, started, tripped in its zero step
// and kept.  Beside it, until the trips are done: three connections a millisecond that say half a head
// or ask for a page, one asker of trends and one maker of backups, each as fast as it is answered.
// `quiet`: nothing beside it.  Everything on loopback; the clients take their share of the processors.
//
// Tests that end otherwise (silence before the trip on a busy machine) are counted, and too many of
// them fail the run: they could hide a trip that never comes.

#include <condition_variable>
#include <cstdlib>
#include <future>
#include <mutex>
#include <string>

#include "daemon/service/http_server.h"
#include "schema/backup.h"
#include "tests/benchmarks/timed_device.h"
#include "tests/line/line_plant.h"
#include "tests/support/raw_http.h"

namespace endgate::tests {
namespace {

using daemon::LinePhase;
using daemon::LineState;

constexpr const char* kLimit = R"(
[[over_limit]]
id = "head_temperature_of_the_benchmark"
role = "head_temperature"
unit = "K"
above_si = 400
for_s = 0
accuses = "bench"
)";

// The service as a person and the pages meet it.
class Service {
 public:
  explicit Service(std::uint16_t device) {
    const auto config = folder_.path() / "config";
    test::write_config(config, device, 1);
    const auto bench = config / "benches/north.toml";
    test::put_text(bench, test::text_in(bench) + kLimit);
    test::accept_all(config, data());
    daemon::ServiceDefinition definition;
    definition.data_directory = data();
    service_ = std::make_unique<daemon::LineService>(definition, config, [] { std::abort(); });
    listener_ = service_->subscribe([this](const LineState& state) { hear(state); });
    service_->wait_for_benches(30s);
    server_ = std::make_unique<daemon::HttpServer>(daemon::HttpSettings{}, *service_);
  }
  ~Service() {
    server_.reset();
    service_->unsubscribe(listener_);
  }
  Service(const Service&) = delete;
  Service& operator=(const Service&) = delete;

  [[nodiscard]] std::filesystem::path data() const { return folder_.path() / "data"; }
  [[nodiscard]] std::filesystem::path backup() const { return folder_.path() / "backup"; }
  [[nodiscard]] std::uint16_t port() const { return server_->port(); }

  // Empty, or why not.
  std::string start(const std::string& serial) {
    std::string refused = ask([&](auto done) {
      service_->scan({"north", serial, "48-B2", "benchmark"}, std::move(done));
    });
    if (!refused.empty()) return refused;
    return ask([&](auto done) { service_->start({"north", ""}, std::move(done)); });
  }
  void clear() {
    (void)ask([&](auto done) { service_->clear("north", "benchmark", std::move(done)); });
  }
  // The state when it is as wanted, or that at the end of the patience.
  template <class Wanted>
  LineState wait_for(Wanted wanted) {
    std::unique_lock lock(mutex_);
    changed_.wait_for(lock, 20s, [&] { return newest_ && wanted(*newest_); });
    return newest_.value_or(LineState{});
  }

 private:
  template <class Asks>
  std::string ask(Asks asks) {
    std::promise<daemon::CommandAnswer> answer;
    asks([&](daemon::CommandAnswer got) { answer.set_value(std::move(got)); });
    const auto got = answer.get_future().get();
    const auto* refusal = std::get_if<daemon::CommandRefusal>(&got);
    return refusal == nullptr ? "" : refusal->code + " " + refusal->sentence;
  }
  void hear(const LineState& state) {
    const std::lock_guard lock(mutex_);
    newest_ = state;
    changed_.notify_all();
  }

  test::TemporaryFolder folder_;
  std::unique_ptr<daemon::LineService> service_;
  std::unique_ptr<daemon::HttpServer> server_;
  std::uint64_t listener_ = 0;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::optional<LineState> newest_;
};

// Everything that the service is kept busy with.
class Load {
 public:
  explicit Load(const Service& service) : service_(service) {
    threads_.emplace_back([this] { flood(); });
    threads_.emplace_back([this] { ask_for_trends(); });
    threads_.emplace_back([this] { back_up(); });
  }
  ~Load() {
    stop_ = true;
    for (std::thread& thread : threads_) thread.join();
    std::printf("beside it: %d connections, %d trends, %d backups\n", connections_, trends_,
                backups_);
  }
  Load(const Load&) = delete;
  Load& operator=(const Load&) = delete;

 private:
  [[nodiscard]] std::string get(const std::string& target) const {
    return "GET " + target + " HTTP/1.1\r\nHost: 127.0.0.1:" + std::to_string(service_.port()) +
           "\r\nConnection: close\r\n\r\n";
  }
  // Bounded: 64 connections at a time, each from one of eight neighbours.
  void flood() {
    std::vector<std::unique_ptr<test::RawHttp>> held(64);
    for (std::size_t i = 0; !stop_; ++i) {
      std::this_thread::sleep_for(333us);
      try {
        auto& place = held[i % held.size()];
        place = std::make_unique<test::RawHttp>(
            service_.port(), static_cast<std::uint32_t>(INADDR_LOOPBACK + 1 + i % 8));
        place->send(i % 3 == 0 ? "POST /api/v1/benches/north/st"
                               : get(i % 3 == 1 ? "/" : "/units"));
        ++connections_;
      } catch (const std::runtime_error&) {  // refused: that is an answer too
      }
    }
  }
  void ask_for_trends() {
    while (!stop_) {
      try {
        test::RawHttp page(service_.port());
        page.send(get("/api/v1/trend?model=P1-60-12&metric=fad_400"));
        trends_ += test::status_of(page.read()) == 200 ? 1 : 0;
      } catch (const std::runtime_error&) {
      }
    }
  }
  void back_up() {
    while (!stop_) {
      (void)schema::back_up(service_.data(), service_.backup());
      std::filesystem::remove_all(service_.backup());
      ++backups_;
    }
  }

  const Service& service_;
  std::atomic<bool> stop_{false};
  int connections_ = 0, trends_ = 0, backups_ = 0;  // each of one thread, read when all are joined
  std::vector<std::thread> threads_;
};

std::string serial_of(int number) {
  const int week = number / 900;
  return simbench::make_serial((week < 10 ? "260" : "26") + std::to_string(week), number % 900);
}

// False: it ended otherwise.
bool trip_once(Service& service, TimedDevice& device, const std::string& serial) {
  const int before = device.count;
  const std::string refused = service.start(serial);
  if (!refused.empty()) {
    std::fprintf(stderr, "%s: %s\n", serial.c_str(), refused.c_str());
    return false;
  }
  device.over = true;
  const LineState ended = service.wait_for([&](const LineState& state) {
    return (state.phase == LinePhase::verdict && state.serial == serial) ||
           state.phase == LinePhase::press_stop;
  });
  device.over = false;
  if (ended.phase == LinePhase::press_stop) {  // off that is read back late latches
    service.clear();
    service.wait_for([](const LineState& state) { return state.phase == LinePhase::free; });
  }
  return device.count > before;
}

}  // namespace
}  // namespace endgate::tests

int main(int argc, char** argv) {
  using namespace endgate::tests;
  const int wanted = std::max(argc > 1 ? std::atoi(argv[1]) : 200, 1);
  TimedDevice device;
  int otherwise = 0;
  {
    Service service(device.port());
    std::optional<Load> load;
    if (argc <= 2) load.emplace(service);
    for (int i = 0; i < wanted; ++i)
      if (!trip_once(service, device, serial_of(i))) ++otherwise;
  }
  device.stop();
  print("over-limit to off-frame", device.taken());
  print("bare loopback round trip", bare_round_trips(std::min(wanted, 1000)));
  std::printf("tests that ended otherwise: %d of %d\n", otherwise, wanted);
  return otherwise > wanted / 50 ? 1 : 0;
}

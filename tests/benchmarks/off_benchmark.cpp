// How long from a sample beyond an over-limit to motor off on the wire?
//
//   off_benchmark [TRIPS [HOGS]]
//
// A Bench at rate 1 against a scripted device on a thread of its own.  The clock starts when the
// device hands the answer with the sample to its socket and stops when it has read the off-frame,
// so the figures hold two ways over loopback as well.  HOGS threads keep processors busy beside it.
// In the same run: the bare round trip of one byte over loopback, for a ratio.

#include <atomic>
#include <cstdio>
#include <cstdlib>
#include <iterator>
#include <thread>
#include <vector>

#include "daemon/bench/bench.h"
#include "tests/bench/made_bench.h"
#include "tests/benchmarks/timed_device.h"

namespace endgate::tests {
namespace {

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
  // Silence that came before each trip would hide a trip that never comes.
  if (otherwise > wanted / 50) std::abort();
  return device.taken();
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

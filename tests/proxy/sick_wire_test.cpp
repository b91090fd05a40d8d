// A whole Bench against the simulated bench over a sick wire, at ten times real time.  Whatever the
// wire does: the motor is off, the test is void, nothing is invented, and the bench comes back when
// the wire is healed.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "analysis/grade.h"
#include "daemon/bench/bench.h"
#include "fixtures/bench/physics/population.h"
#include "fixtures/proxy/fault_proxy.h"
#include "tests/bench/made_bench.h"
#include "tests/simbench_server/loopback_bench.h"

namespace endgate::tests {
namespace {

using namespace std::chrono_literals;
using analysis::BreakOff;
using Steady = std::chrono::steady_clock;

constexpr double kSickRate = 10;
constexpr std::size_t kWarmUp = 2;

class SickWire : public ::testing::Test {
 protected:
  simbench::ServedBench device{kSickRate};
  boost::asio::io_context io;
  faultproxy::FaultProxy proxy{io, loopback(0), loopback(device.port())};
  BenchDefinition definition = made_bench();
  ModelDefinition model = made_model();
  std::optional<FinishedTest> finished;
  std::vector<std::string> alarms;
  std::unique_ptr<Bench> bench;

  static boost::asio::ip::tcp::endpoint loopback(std::uint16_t port) {
    return {boost::asio::ip::address_v4::loopback(), port};
  }

  void SetUp() override {
    definition.devices[0].port = proxy.port();
    definition.devices[0].transaction_deadline = 250ms;
    definition.clock->declared_rate = kSickRate;
    for (ActuatorDefinition& actuator : definition.actuators) actuator.follow_within = 1s;
    for (StepDefinition& step : model.sequence) step.limit_s = step.steady_limit_s = 60;
    model.sequence[kWarmUp].duration_s = 50;
    model.start_within_s = 30;
    proxy.start();
    ASSERT_EQ(simbench::RawLink(device.control_port()).ask("clamp " + serial()), "ok");
  }

  static std::string serial() { return simbench::make_serial("2648", 7); }

  template <class Condition>
  void until(Condition condition) {
    const auto give_up = Steady::now() + 30s;
    while (!condition()) {
      ASSERT_LT(Steady::now(), give_up) << bench->live().condition_text;
      io.run_one_for(10ms);
    }
  }
  void until_ready() {
    until([this] { return bench->live().condition == BenchCondition::ready; });
  }

  void start_and_run() {
    BenchEvents events;
    events.finished = [this](FinishedTest test) { finished = std::move(test); };
    events.alarm = [this](const std::string& code, const std::string&) { alarms.push_back(code); };
    bench = std::make_unique<Bench>(io, definition, std::vector<analysis::ChannelCalibration>{},
                                    std::move(events));
    bench->connect();
    until_ready();
    bench->start(model);
    until([this] {
      return finished || (bench->live().step && bench->live().step->index == kWarmUp);
    });
    ASSERT_FALSE(finished) << finished->trace.break_off_detail;
  }

  void inject(const std::string& line) {
    proxy.set(std::get<faultproxy::ProxyFault>(faultproxy::parse_fault(line)));
  }

  void until_finished() {
    until([this] { return finished.has_value(); });
  }

  analysis::Verdict verdict() const {
    return analysis::grade({}, finished->trace, {}, std::nullopt, {}).verdict;
  }

  // The relay as the device itself has it, past the proxy.
  bool motor_is_on() {
    simbench::Libmodbus peer(device.port());
    return (peer.input(2, 1).at(0) & 4U) != 0;
  }

  // The fault is there, the test ends for this cause, and with the wire healed the bench is ready
  // with its motor off.
  void ends_for(BreakOff cause) {
    until([this] { return !alarms.empty(); });
    inject("pass");
    until_finished();
    EXPECT_EQ(finished->trace.break_off, cause) << finished->trace.break_off_detail;
    EXPECT_EQ(verdict(), analysis::Verdict::void_);
    until_ready();
    EXPECT_FALSE(motor_is_on());
    EXPECT_THAT(alarms, ::testing::Contains("B-201"));
    for (const analysis::RawChannel& channel : finished->trace.channels)
      for (std::size_t i = 1; i < channel.time_us.size(); ++i)
        ASSERT_LT(channel.time_us[i - 1], channel.time_us[i]) << "an old answer in " << channel.id;
  }
};

// One row of the catalogue each.
struct Row {
  const char* name;
  const char* fault;
  BreakOff cause;
};

class EveryRow : public SickWire, public ::testing::WithParamInterface<Row> {};

TEST_P(EveryRow, EndsVoidWithTheMotorOffAndTheBenchComesBack) {
  start_and_run();
  inject(GetParam().fault);
  ends_for(GetParam().cause);
}

INSTANTIATE_TEST_SUITE_P(
    Wire, EveryRow,
    ::testing::Values(Row{"NoAnswer", "stall", BreakOff::silence},
                      Row{"AnswerAfterTheDeadline", "once late 600", BreakOff::silence},
                      Row{"AnswerByteByByte", "drip 100", BreakOff::silence},
                      Row{"ShortFrame", "cut 5", BreakOff::silence},
                      Row{"Garbage", "garble", BreakOff::lost_link},
                      Row{"OldTransaction", "once repeat", BreakOff::lost_link},
                      Row{"WrongUnit", "once byte 6 9", BreakOff::lost_link},
                      Row{"WrongFunction", "once byte 7 16", BreakOff::lost_link},
                      Row{"WrongCount", "once byte 8 3", BreakOff::lost_link},
                      Row{"HalfClosed", "half-close", BreakOff::lost_link},
                      Row{"ConnectionReset", "drop", BreakOff::lost_link}),
    [](const auto& info) { return std::string(info.param.name); });

TEST_F(SickWire, LeavesTheRelayToTheLeaseAndNeverReplaysAnOn) {
  start_and_run();
  ASSERT_TRUE(motor_is_on());
  inject("stall");
  const auto cut_off = Steady::now();
  until([&] { return Steady::now() - cut_off > 700ms; });  // the lease lapses after 500 ms
  EXPECT_FALSE(motor_is_on());
  inject("pass");  // commands went into the dead connection meanwhile
  until_finished();
  until_ready();
  for (int i = 0; i < 50; ++i) io.run_one_for(5ms);
  EXPECT_FALSE(motor_is_on());
}

}  // namespace
}  // namespace endgate::tests

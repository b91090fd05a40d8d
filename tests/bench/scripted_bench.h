// A whole Bench over loopback against a scripted device with the register map of the simulated
// bench, crude in its physics, at ten times real time.

#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/bench/bench.h"
#include "tests/bench/made_bench.h"
#include "tests/support/scripted_modbus_peer.h"

namespace endgate::tests {

using Ask = ScriptedModbusPeer::Ask;

inline constexpr double kRate = 10;
inline constexpr std::uint16_t kOwner = 100, kLease = 101, kRelay = 102, kSupply = 103,
                               kPressure = 104, kVent = 105, kShutOff = 106, kSealFill = 108;

class BenchTest : public ::testing::Test {
 protected:
  using Steady = std::chrono::steady_clock;

  boost::asio::io_context io;
  ScriptedModbusPeer peer{io};
  BenchDefinition definition = made_bench();
  ModelDefinition model = made_model();
  std::unique_ptr<Bench> bench;
  std::optional<FinishedTest> finished;
  std::vector<std::string> alarms;
  Steady::time_point born = Steady::now();

  // What the device does beyond obeying.
  bool cover_closed = true;
  bool relay_is_welded = false;
  bool relay_stays_open = false;
  bool flow_has_no_value = false;
  bool vent_is_blocked = false;
  bool lease_lapsed = false;
  double counter_rate = kRate;
  double pressure_pa = 0, speed_rev_s = 0, seal_pa = 0;

  void SetUp() override {
    definition.devices[0].port = peer.port();
    peer.holding[kOwner] = definition.owner_word;  // a free bench is ours only after a while
    definition.clock->declared_rate = kRate;
    definition.actuators[kRelay - 100].follow_within = std::chrono::milliseconds(250);
    peer.before_answer = [this](const Ask& ask) { live_on(ask); };
  }

  void connect(const std::function<void()>& first = [] {}) {
    BenchEvents events;
    events.finished = [this](FinishedTest test) { finished = std::move(test); };
    events.alarm = [this](const std::string& code, const std::string&) { alarms.push_back(code); };
    bench = std::make_unique<Bench>(io, definition, std::vector<analysis::ChannelCalibration>{},
                                    std::move(events));
    first();
    bench->connect();
  }

  template <class Condition>
  void until(Condition condition) {
    const auto give_up = Steady::now() + std::chrono::seconds(20);
    while (!condition()) {
      ASSERT_LT(Steady::now(), give_up) << bench->live().condition_text;
      io.run_one_for(std::chrono::milliseconds(10));
    }
  }
  void until_ready() {
    until([this] { return bench->live().condition == BenchCondition::ready; });
  }
  void start_and_run_to(std::size_t step) {
    connect();
    until_ready();
    ASSERT_FALSE(bench->start_refused(model));
    bench->start(model);
    until([this, step] {
      return finished || (bench->live().step && bench->live().step->index >= step);
    });
  }
  void until_finished() {
    until([this] { return finished.has_value(); });
  }

  // Position in the list of requests of the first one that fits.
  template <class Predicate>
  std::size_t first(Predicate fits, std::size_t from = 0) const {
    std::size_t i = from;
    while (i < peer.asked.size() && !fits(peer.asked[i])) ++i;
    return i;
  }
  std::size_t count_writes(std::uint16_t address, std::size_t from = 0) const {
    std::size_t count = 0;
    for (std::size_t i = from; i < peer.asked.size(); ++i)
      count += peer.asked[i].is_write() && peer.asked[i].address == address ? 1 : 0;
    return count;
  }
  std::size_t count_motor_on() const {
    return static_cast<std::size_t>(
        std::ranges::count_if(peer.asked, [](const Ask& ask) { return ask.writes(kRelay, 1); }));
  }

 private:
  void live_on(const Ask& ask) {
    if (ask.writes(kRelay, 1)) lease_lapsed = false;
    auto& out = peer.holding;
    const bool commanded = out[kRelay] == 1 && cover_closed && !lease_lapsed && !relay_stays_open;
    const bool closed = relay_is_welded || commanded;
    move(speed_rev_s, closed ? 50 : 0, 5);
    const bool vented = out[kVent] == 1;
    if (out[kShutOff] == 0 && !(vented && vent_is_blocked))
      move(pressure_pa, vented ? 0 : out[kPressure] * 100.0, 20e3);
    move(seal_pa, out[kSealFill] == 1 ? 25e3 : 0, out[109] == 1 || out[kSealFill] == 1 ? 2e3 : 0);
    fill_registers(closed);
  }

  void fill_registers(bool closed) {
    const double passed_s = std::chrono::duration<double>(Steady::now() - born).count();
    const auto counter = static_cast<std::uint32_t>(passed_s * counter_rate * 1000);
    auto& in = peer.input;
    in[0] = static_cast<std::uint16_t>(counter >> 16);
    in[1] = static_cast<std::uint16_t>(counter & 0xffff);
    in[2] = static_cast<std::uint16_t>((cover_closed ? 1 : 0) | 2 | (closed ? 4 : 0) |
                                       (lease_lapsed ? 16 : 8));
    in[3] = static_cast<std::uint16_t>((pressure_pa + 50e3) / 20);
    in[4] = flow_has_no_value ? 65535 : closed ? 10'000 : 0;
    in[5] = peer.holding[kSupply];
    in[6] = closed ? 2000 : 0;
    in[7] = static_cast<std::uint16_t>(speed_rev_s * 600);
    in[9] = 500;
    in[13] = static_cast<std::uint16_t>(seal_pa);
    in[15] = peer.holding[kPressure];
  }

  static void move(double& value, double target, double most) {
    value += std::clamp(target - value, -most, most);
  }
};

}  // namespace endgate::tests

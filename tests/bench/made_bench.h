// A small bench and model for tests, laid out like the simulated bench's register map, and frames
// made by hand for it.

#pragma once

#include <algorithm>
#include <chrono>
#include <map>
#include <string>
#include <vector>

#include "daemon/bench/test_run.h"
#include "daemon/definitions/bench_definition.h"
#include "daemon/definitions/model_definition.h"

namespace endgate::tests {

using namespace daemon;
using analysis::Role;

inline RegisterSource source_at(std::uint16_t address, RegisterType type = RegisterType::u16) {
  RegisterSource source{"io", 4, address, type, WordOrder::high_first, {}};
  source.no_value = {type == RegisterType::i16 ? -32768 : 65535};
  return source;
}

inline ChannelDefinition channel(Role role, std::uint16_t address, double scale, double offset,
                                 double max, double period_s) {
  ChannelDefinition made;
  made.source = source_at(address);
  made.facts.id = std::string(analysis::name_of(role));
  made.facts.role = role;
  made.facts.scale = scale;
  made.facts.offset_si = offset;
  made.facts.range_min_si = offset;
  made.facts.range_max_si = max;
  made.facts.period_s = period_s;
  made.facts.silent_after_s = 0.3;
  return made;
}

inline ActuatorDefinition valve(const char* id, std::uint16_t address, double scale, double max,
                                std::optional<double> safe) {
  ActuatorDefinition made;
  made.id = id;
  made.device = "io";
  made.address = address;
  made.scale = scale;
  made.max_si = max;
  made.safe_si = safe;
  return made;
}

inline BitSource status_bit(int bit) { return {"io", 4, 2, bit, false}; }

inline void add_channels(BenchDefinition& bench) {
  bench.channels = {
      channel(Role::discharge_pressure, 3, 20, -50'000, 1'250'000, 0.02),
      channel(Role::flow, 4, 1e-7, 0, 6e-3, 0.02),
      channel(Role::supply_voltage, 5, 0.001, 0, 60, 0.02),
      channel(Role::supply_current, 6, 0.005, 0, 160, 0.02),
      channel(Role::speed, 7, 1.0 / 600, 0, 100, 0.02),
      channel(Role::head_temperature, 9, 0.05, 273.15, 520, 0.2),
      channel(Role::seal_pressure, 13, 1, 0, 30'000, 0.02),
  };
}

inline void add_actuators(BenchDefinition& bench) {
  bench.actuators = {
      valve("owner", 100, 1, 65535, {}),        valve("lease", 101, 1, 65535, {}),
      valve("motor_relay", 102, 1, 1, 0),       valve("supply_voltage", 103, 0.001, 32, 0),
      valve("back_pressure", 104, 100, 1e6, 0), valve("vent", 105, 1, 1, 1),
      valve("shut_off", 106, 1, 1, 0),          valve("receiver", 107, 1, 1, {}),
      valve("seal_fill", 108, 1, 1, 0),         valve("seal_vent", 109, 1, 1, 1),
  };
  ActuatorDefinition& pressure = bench.actuators[4];
  pressure.read_back = source_at(15);
  bench.actuators[2].follow_within = std::chrono::milliseconds(300);
}

inline BenchDefinition made_bench() {
  BenchDefinition bench;
  bench.id = "north";
  DeviceDefinition device;
  device.id = "io";
  device.host = "127.0.0.1";
  device.reconnect_first = std::chrono::milliseconds(5);
  bench.devices = {device};
  bench.clock = ClockDefinition{};
  bench.clock->counter = source_at(0, RegisterType::u32);
  bench.clock->counter.no_value = {};
  add_channels(bench);
  add_actuators(bench);
  bench.receivers = {{"small", 0, 3e-4}, {"large", 1, 2e-3}};
  bench.interlocks = {status_bit(0), status_bit(1), status_bit(2), status_bit(3), status_bit(4)};
  bench.lease = LeaseDefinition{};
  bench.owner_word = 0x4507;
  return bench;
}

inline StepDefinition made_step(const char* id, analysis::StepKind kind, double duration_s,
                                double target_gauge_pa = 0) {
  StepDefinition step;
  step.id = id;
  step.kind = kind;
  step.duration_s = duration_s;
  step.target_gauge_pa = target_gauge_pa;
  step.limit_s = 10;
  step.steady_limit_s = 15;
  return step;
}

// zero, start, warm-up, two holds, back leak, seal leak, vent.
inline ModelDefinition made_model() {
  using analysis::StepKind;
  ModelDefinition model;
  model.id = "P1-60-12";
  model.steady = {1.0, 0.5, 0.005};
  StepDefinition hold_0 = made_step("hold_0", StepKind::hold, 3);
  hold_0.hold_min_s = 1.6;
  StepDefinition hold_400 = made_step("hold_400", StepKind::hold, 3, 400e3);
  hold_400.hold_min_s = 1.6;
  StepDefinition back_leak = made_step("back_leak", StepKind::back_leak, 2, 400e3);
  back_leak.let_down_to_gauge_pa = 300e3;
  model.sequence = {made_step("zero", StepKind::zero, 0.5),
                    made_step("start", StepKind::start, 0),
                    made_step("warm_up", StepKind::warm_up, 1),
                    hold_0,
                    hold_400,
                    back_leak,
                    made_step("seal_leak", StepKind::seal_leak, 1.5, 20e3),
                    made_step("vent", StepKind::vent, 0)};
  return model;
}

// A bench that does what it is told, in frames of 20 ms: a crude stand-in whose numbers mean
// nothing.  A test changes `now` between frames, or replaces `obey`.
class FrameSource {
 public:
  explicit FrameSource(const BenchDefinition& bench) : bench_(bench) {
    now.interlocks = {true, true, false, true, false};
    set(Role::supply_voltage, 0);
    set(Role::head_temperature, 300);
    for (const Role role : {Role::discharge_pressure, Role::flow, Role::supply_current, Role::speed,
                            Role::seal_pressure})
      set(role, 0);
  }

  Frame now;
  bool motor_starts = true;
  double reachable_gauge_pa = 1e6;

  void set(Role role, std::optional<double> value) {
    now.value_si[static_cast<std::size_t>(role)] = value;
  }

  void obey(const std::vector<ActuatorCommand>& commands) {
    for (const ActuatorCommand& command : commands) set_[command.actuator] = command.value_si;
  }

  // The next frame, 20 ms later on both clocks.
  Frame next() {
    now.bench_time_us += 20'000;
    now.arrived += std::chrono::milliseconds(20);
    follow();
    now.readings.clear();
    for (std::size_t i = 0; i < bench_.channels.size(); ++i) {
      const bool known = now.value(bench_.channels[i].facts.role).has_value();
      now.readings.push_back({i, 0, known ? analysis::Quality::good : analysis::Quality::no_value});
    }
    return now;
  }

 private:
  double told(const std::string& id) const {
    const auto found = set_.find(id);
    return found == set_.end() ? 0 : found->second;
  }

  void follow() {
    if (follows_relay) now.interlocks.motor_relay_closed = told("motor_relay") > 0.5;
    const bool runs = now.interlocks.motor_relay_closed.value_or(false) && motor_starts;
    move(Role::supply_voltage, told("supply_voltage"), 1e9);
    move(Role::speed, runs ? 50 : 0, 5);
    move(Role::supply_current, runs ? 10 : 0, 1e9);
    move(Role::flow, runs ? 1e-3 : 0, 1e9);
    const double target = told("vent") > 0.5 ? 0 : told("back_pressure");
    const bool shut = told("shut_off") > 0.5;
    if (!shut) move(Role::discharge_pressure, std::min(target, reachable_gauge_pa), 20e3);
    if (told("seal_fill") > 0.5) move(Role::seal_pressure, seal_reaches_pa, 2e3);
    if (told("seal_vent") > 0.5) move(Role::seal_pressure, 0, 2e3);
  }

  void move(Role role, double target, double most) {
    auto& value = now.value_si[static_cast<std::size_t>(role)];
    if (value) value = *value + std::clamp(target - *value, -most, most);
  }

  BenchDefinition bench_;
  std::map<std::string, double> set_;

 public:
  bool follows_relay = true;
  double seal_reaches_pa = 25e3;
};

}  // namespace endgate::tests

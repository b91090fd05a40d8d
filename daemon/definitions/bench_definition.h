// What is a bench made of?  The content of benches/*.toml, checked.
//
// A register map is data: an unknown bench is connected by this file alone.

#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "analysis/context.h"
#include "daemon/definitions/device_definition.h"
#include "daemon/definitions/upkeep_definition.h"

namespace endgate::daemon {

struct ClockDefinition {  // absent: bench time is the steady clock
  RegisterSource counter;
  double tick_s = 0.001;
  double rate_min = 0.95;  // believed bench seconds per steady second
  double rate_max = 1.05;
  double declared_rate = 1;  // a bench that runs fast says so
};

struct ChannelDefinition {
  RegisterSource source;
  analysis::ChannelFacts facts;  // calibration is filled from facts of the store
  int decimals = 1;              // of the live display
};

// The motor's current, sampled fast by a device that streams.
struct WaveformDefinition {
  RegisterSource source;  // a column
  analysis::WaveformFacts facts;
};

// What the bench can set.  Names the sequence uses: motor_relay, supply_voltage, back_pressure,
// vent, shut_off, receiver, seal_fill, seal_vent, lease, owner.
struct ActuatorDefinition {
  std::string id;
  std::string device;
  std::uint16_t address = 0;
  double scale = 1;  // SI per count
  double min_si = 0;
  double max_si = 1;
  std::optional<double> safe_si;  // written, in file order, when the bench is made safe
  std::optional<RegisterSource> read_back;
  std::optional<BitSource> read_back_bit;
  std::chrono::milliseconds follow_within{1000};  // read-back must agree within
  RegisterType type = RegisterType::u16;          // two registers and more by function 16
  WordOrder word_order = WordOrder::high_first;
  int function = 0;        // 0: 6 or 16 by the number of registers; 5: a bit by itself
  std::optional<int> bit;  // one bit of a register whose others stay (function 22)
  std::optional<int> unit_id;
  std::vector<std::uint16_t> followed_by;     // fixed words behind the value, in the same write
  std::optional<double> follow_tolerance_si;  // absent: one and a half counts
};

struct ReceiverDefinition {
  std::string name;
  double actuator_value = 0;
  double volume_m3 = 0;  // nominal; the learned constants rule
};

struct InterlockDefinition {
  std::optional<BitSource> cover_closed;
  std::optional<BitSource> emergency_stop_clear;
  std::optional<BitSource> motor_relay_closed;
  std::optional<BitSource> lease_live;
  std::optional<BitSource> relay_latched_open;
  std::optional<BitSource> fixture_clamped{};
};

struct LeaseDefinition {  // absent: the bench has none; `check` says what is not promised
  std::string actuator = "lease";
  std::chrono::milliseconds period{150};  // renewed at least so often, steady clock
  std::chrono::milliseconds lapses_after{500};
};

// An over-limit of the bench itself or of the unit on it; checked on each frame.
struct OverLimit {
  std::string id;  // "supply_current_max"
  analysis::Role role = analysis::Role::supply_current;
  double limit_si = 0;
  bool upper = true;
  double for_s = 0;  // must hold so long (bench time)
  analysis::TripAccuses accuses = analysis::TripAccuses::bench;
  bool only_while_running = false;
  std::vector<std::string> steps;  // of a model: ids of the steps in which it counts; empty: all
  // Independent confirmation that makes a trip accusing the unit a fail: another role beyond a
  // bound.
  std::optional<analysis::Role> confirm_role;
  double confirm_limit_si = 0;
  bool confirm_upper = true;
};

inline constexpr double kMotorCurrentFlows_a = 0.5;

struct BenchDefinition {
  std::string id;
  std::string name;
  bool simulated = false;
  std::vector<DeviceDefinition> devices;
  std::optional<ClockDefinition> clock;
  std::vector<ChannelDefinition> channels;
  std::vector<ActuatorDefinition> actuators;
  std::vector<ReceiverDefinition> receivers;
  InterlockDefinition interlocks;
  std::optional<LeaseDefinition> lease;
  std::uint16_t owner_word = 0;  // written to the owner actuator when not 0
  // The motor counts as off only below it: more than the current sensor may read with none.
  double motor_current_flows_a = kMotorCurrentFlows_a;
  std::vector<OverLimit> over_limits;
  double meter_reference_temperature_k = 273.15;
  double meter_reference_pressure_pa = 101325;
  double seal_volume_m3 = 0;
  std::vector<double> supply_voltages_v;  // nominal voltages this bench can feed
  std::vector<ReferenceUnitDefinition> reference_units;
  std::vector<DueCheck> due_checks;
  std::vector<WearPart> wear_parts;
  std::optional<WaveformDefinition> current_waveform;
};

}  // namespace endgate::daemon

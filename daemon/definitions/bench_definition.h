// What is a bench made of?  The content of benches/*.toml, checked.
//
// A register map is data: an unknown Modbus bench is connected by this file alone.

#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "analysis/context.h"
#include "daemon/definitions/upkeep_definition.h"

namespace endgate::daemon {

enum class RegisterType : std::uint8_t { u16, i16, u32, i32, f32 };
enum class WordOrder : std::uint8_t { high_first, low_first };

// Where a number is read: function 3 or 4.
struct RegisterSource {
  std::string device;
  int function = 4;
  std::uint16_t address = 0;
  RegisterType type = RegisterType::u16;
  WordOrder word_order = WordOrder::high_first;
  std::vector<std::int64_t> no_value;  // raw codes that mean "no value"
};

struct BitSource {
  std::string device;
  int function = 4;
  std::uint16_t address = 0;
  int bit = 0;  // 0 = least significant
  bool inverted = false;
};

struct DeviceDefinition {
  std::string id;
  std::string link = "modbus_tcp";
  std::string host;
  std::uint16_t port = 502;
  int unit_id = 1;
  std::chrono::milliseconds transaction_deadline{100};
  std::chrono::milliseconds reconnect_first{100};  // doubles up to reconnect_last
  std::chrono::milliseconds reconnect_last{2000};
};

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

// What the bench can set.  Names the sequence uses: motor_relay, supply_voltage, back_pressure,
// vent, shut_off, receiver, seal_fill, seal_vent, lease, owner.
struct ActuatorDefinition {
  std::string id;
  std::string device;
  std::uint16_t address = 0;  // written by function 6
  double scale = 1;           // SI per count
  double min_si = 0;
  double max_si = 1;
  std::optional<double> safe_si;  // written, in file order, when the bench is made safe
  std::optional<RegisterSource> read_back;
  std::optional<BitSource> read_back_bit;
  std::chrono::milliseconds follow_within{1000};  // read-back must agree within
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
  // Independent confirmation that makes a trip accusing the unit a fail: another role beyond a
  // bound.
  std::optional<analysis::Role> confirm_role;
  double confirm_limit_si = 0;
  bool confirm_upper = true;
};

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
  std::vector<OverLimit> over_limits;
  double meter_reference_temperature_k = 273.15;
  double meter_reference_pressure_pa = 101325;
  double seal_volume_m3 = 0;
  std::vector<double> supply_voltages_v;  // nominal voltages this bench can feed
  std::vector<ReferenceUnitDefinition> reference_units;
  std::vector<DueCheck> due_checks;
  std::vector<WearPart> wear_parts;
};

}  // namespace endgate::daemon

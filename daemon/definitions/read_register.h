// Where on a device is this number or bit?  Keys shared by clocks, channels, read-backs,
// interlocks.
//
//   device, unit_id, function, address, type, word_order, no_value    of a number in registers
//   device, query, answer                                             of an instrument's number
//   device, column, type                                              of a stream's number
//   device, column                                                    of a recorded run's number
//   device, unit_id, function, address, bit, inverted                 of a bit

#pragma once

#include <string>
#include <vector>

#include "daemon/definitions/bench_definition.h"
#include "daemon/definitions/toml_reader.h"

namespace endgate::daemon {

// What a register may refer to, and what it may leave unsaid.
struct RegisterScope {
  std::vector<std::string> devices;  // ids known in this file
  std::string device;                // taken when `device` is left out; empty: must be stated
  std::vector<DeviceDefinition>* definitions = nullptr;  // queries and commands are added to them
};

// Null: the device is unknown, which was complained of.
[[nodiscard]] DeviceDefinition* device_in(const RegisterScope& scope, const std::string& id);

[[nodiscard]] std::string read_device(TomlReader& reader, const RegisterScope& scope);
[[nodiscard]] RegisterSource read_register(TomlReader& reader, const RegisterScope& scope);
[[nodiscard]] BitSource read_bit(TomlReader& reader, const RegisterScope& scope);

}  // namespace endgate::daemon

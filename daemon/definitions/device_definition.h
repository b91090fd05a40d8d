// With what does the daemon talk, and over which wire?  One [[device]] of a bench file is one
// connection: a socket or a serial line, which may have several units behind it.
//
//   modbus_tcp     host, port, unit_id
//   modbus_rtu     path, baud, parity, stop_bits, unit_id
//   scpi_tcp       host, port; queries and commands stand at the channels and actuators
//   scpi_serial    path, baud, parity, stop_bits; the same
//   sample_stream  host, port; channels name a column
//
// Query k of an instrument becomes the input registers from 4 k, a double; command k the address
// k.  A stream has the device time of its newest sample in the input registers 2 and 3.

#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "daemon/definitions/source_definition.h"

namespace endgate::daemon {

enum class LinkKind : std::uint8_t { modbus_tcp, modbus_rtu, scpi_tcp, scpi_serial, sample_stream };
enum class LineParity : std::uint8_t { even, odd, none };

struct SerialLineDefinition {
  std::string path;
  unsigned baud = 19200;
  LineParity parity = LineParity::even;
  int stop_bits = 1;
};

struct QueryDefinition {
  std::string text;    // "MEAS:VOLT?"
  std::string answer;  // "{number}", or text around it
};

// A counter of the device's own, for the time of its samples.
struct DeviceTimeDefinition {
  RegisterSource counter;
  double tick_s = 0.001;
};

struct DeviceDefinition {
  std::string id;
  LinkKind link = LinkKind::modbus_tcp;
  std::string host;
  std::uint16_t port = 502;
  int unit_id = 1;
  std::chrono::milliseconds transaction_deadline{100};
  std::chrono::milliseconds reconnect_first{100};  // doubles up to reconnect_last
  std::chrono::milliseconds reconnect_last{2000};
  SerialLineDefinition line;
  std::vector<QueryDefinition> queries;  // by the order of their use in the file
  std::vector<std::string> commands;
  std::vector<std::string> on_open;
  std::string terminator = "\n";
  std::string error_query = "SYST:ERR?";  // empty: none
  bool join_queries = false;
  std::optional<DeviceTimeDefinition> time;
  // Slower than the poll: answers when it can, and nobody waits for it.
  bool own_pace = false;
};

[[nodiscard]] constexpr bool is_scpi(LinkKind link) {
  return link == LinkKind::scpi_tcp || link == LinkKind::scpi_serial;
}
[[nodiscard]] constexpr bool is_serial(LinkKind link) {
  return link == LinkKind::modbus_rtu || link == LinkKind::scpi_serial;
}
[[nodiscard]] constexpr bool is_modbus(LinkKind link) {
  return link == LinkKind::modbus_tcp || link == LinkKind::modbus_rtu;
}

}  // namespace endgate::daemon

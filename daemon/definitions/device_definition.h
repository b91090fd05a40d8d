// With what does the daemon talk, and over which wire?  One [[device]] of a bench file is one
// connection: a socket or a serial line, which may have several units behind it.
//
//   modbus_tcp     host, port, unit_id, largest_gap, most_registers
//   modbus_rtu     path, baud, parity, stop_bits, unit_id, largest_gap, most_registers
//   scpi_tcp       host, port; queries and commands stand at the channels and actuators
//   scpi_serial    path, baud, parity, stop_bits; the same
//   sample_stream  host, port; channels name a column
//   recorded_run   file (relative to the bench file), rate; channels name a column
//   modbus_capture host, port, unit_id, trigger, ready, time, samples: a device that samples when it is
//                  told to and holds the samples in registers; the waveform names column 0
//
// A device that answers "illegal data address" to a request over registers it does not have wants
// largest_gap = 0; one that takes few registers at a time names most_registers.
//
// Query k of an instrument becomes the input registers from 4 k, a double; command k the address
// k.  A stream has the device time of its newest sample in the input registers 2 and 3.  A recorded
// run is numbered as an instrument is, its time in the holding registers 0 and 1; it stands alone in a
// bench that says it is simulated, so that a recording never commands a real motor.

#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "daemon/definitions/source_definition.h"

namespace endgate::daemon {

enum class LinkKind : std::uint8_t {
  modbus_tcp,
  modbus_rtu,
  scpi_tcp,
  scpi_serial,
  sample_stream,
  recorded_run,
  modbus_capture
};
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

// What a recorded run plays.
struct RecordingDefinition {
  std::string file;
  double rate = 1;                   // recorded seconds per steady second
  std::vector<std::string> columns;  // by the order of their use in the file
};

// Samples taken at a trigger and read in chunks (daemon/links/triggered_capture_link.h).
struct CaptureDefinition {
  struct Place {
    int function = 4;  // 3 or 4
    std::uint16_t address = 0;
  };
  std::uint16_t trigger_address = 0, trigger_value = 1;
  Place ready;
  std::optional<int> ready_bit;  // absent: the register is a number, 0 while it samples
  std::optional<Place> time;     // of the first sample: u32, high word first
  double time_tick_s = 0.001;
  Place samples;
  int count = 0;
  RegisterType type = RegisterType::i16;  // i16, i32 or f32
  WordOrder word_order = WordOrder::high_first;
  double period_s = 0;
  int most_registers = 125;  // in one request
  std::chrono::milliseconds within{5000};
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
  std::vector<std::string> commands;     // of a recorded run: ids of actuators
  std::vector<std::string> on_open;
  std::string terminator = "\n";
  std::string error_query = "SYST:ERR?";  // empty: none
  bool join_queries = false;
  RecordingDefinition recording;
  std::optional<CaptureDefinition> capture;  // of modbus_capture
  std::optional<DeviceTimeDefinition> time;
  // Slower than the poll: answers when it can, and nobody waits for it.
  bool own_pace = false;
  // Of one read request to a Modbus device: registers read for nothing, and read at all.
  std::uint16_t largest_gap = 16;
  std::uint16_t most_registers = 120;  // the protocol allows 125
};

[[nodiscard]] constexpr bool is_scpi(LinkKind link) {
  return link == LinkKind::scpi_tcp || link == LinkKind::scpi_serial;
}
[[nodiscard]] constexpr bool is_serial(LinkKind link) {
  return link == LinkKind::modbus_rtu || link == LinkKind::scpi_serial;
}
// Brings blocks of samples by itself.
[[nodiscard]] constexpr bool brings_blocks(LinkKind link) {
  return link == LinkKind::sample_stream || link == LinkKind::modbus_capture;
}
// Has a time of its own in microseconds.
[[nodiscard]] constexpr bool counts_by_itself(LinkKind link) {
  return link == LinkKind::sample_stream || link == LinkKind::recorded_run;
}
[[nodiscard]] constexpr bool is_modbus(LinkKind link) {
  return link == LinkKind::modbus_tcp || link == LinkKind::modbus_rtu;
}

}  // namespace endgate::daemon

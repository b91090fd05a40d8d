// The faults of sensors and actuators that a whole bench is put to, over each kind of link.

#pragma once

#include <ostream>
#include <vector>

#include "tests/proxy/wired_bench.h"

namespace endgate::tests {

// The rows of the table, and how a link shows one.
enum class SickRow {
  silent,
  frozen,
  garbled,
  late,
  dripping,
  unexpected,
  half_open,
  queued,
  out_of_range,
  swapped,
  relay_refused,
  relay_welded,
  valve_stuck,
  over_limit,
};
inline constexpr std::size_t kSickRows = 14;
inline constexpr Wire kWires[] = {Wire::modbus_tcp, Wire::modbus_rtu, Wire::text, Wire::stream};

struct SickCase {
  SickRow row;
  Wire wire;
  const char* name;
  const char* in_wire;  // a fault of the proxy, or
  const char* by_hand;  // a command at the bench
  const char* healed;   // of the latter
  const char* code;     // a reason of the verdict, or those of which it is one
  const char* said;     // in the words of the break-off; "": any
};
inline void PrintTo(const SickCase& one, std::ostream* out) {
  *out << name_of(one.wire) << one.name;
}

constexpr SickCase in_wire(SickRow row, Wire wire, const char* name, const char* fault,
                           const char* code, const char* said = "") {
  return {row, wire, name, fault, "", "", code, said};
}
constexpr SickCase by_hand(SickRow row, Wire wire, const char* name, const char* fault,
                           const char* healed, const char* code, const char* said = "") {
  return {row, wire, name, "", fault, healed, code, said};
}

inline constexpr const char* kSilence = "broken_off_silence";
inline constexpr const char* kLost = "broken_off_lost_link";

inline std::vector<SickCase> cases_of_the_wire() {
  using enum SickRow;
  using enum Wire;
  return {
      in_wire(silent, modbus_tcp, "NoAnswer", "stall", kSilence),
      in_wire(silent, modbus_rtu, "NoAnswer", "stall", kSilence),
      in_wire(silent, text, "NoAnswer", "stall", kSilence),
      in_wire(silent, stream, "NoAnswer", "stall", kSilence),

      in_wire(garbled, modbus_tcp, "Garbage", "garble", kLost),
      in_wire(garbled, modbus_tcp, "ShortFrame", "cut 5", kSilence),
      in_wire(garbled, modbus_tcp, "LongFrame", "once more 3", kLost),
      in_wire(garbled, modbus_tcp, "LongLength", "once byte 5 250", kLost),
      in_wire(garbled, modbus_rtu, "Garbage", "garble", kLost),
      in_wire(garbled, modbus_rtu, "WrongCheckSum", "once byte 5 170", kLost),
      in_wire(garbled, modbus_rtu, "ShortFrame", "cut 5", kSilence),
      in_wire(garbled, modbus_rtu, "LongFrame", "once more 3", kLost),
      in_wire(garbled, text, "NotANumber", "once byte 0 65", kLost),
      in_wire(garbled, text, "Garbage", "garble", kSilence),  // no line end in it
      in_wire(garbled, text, "ShortLine", "cut 1", kSilence),
      in_wire(garbled, text, "LongLine", "once more 3", kLost),
      in_wire(garbled, stream, "Garbage", "garble", kLost),
      in_wire(garbled, stream, "ShortBlock", "once cut 30", kLost),
      in_wire(garbled, stream, "LongBlock", "once more 40", kLost),

      in_wire(late, modbus_tcp, "AfterTheDeadline", "once late 600", kSilence),
      in_wire(late, modbus_tcp, "OldTransaction", "once repeat", kLost),
      in_wire(late, modbus_rtu, "AfterTheDeadline", "once late 600", kSilence),
      in_wire(late, text, "AfterTheDeadline", "once late 600", kSilence),
      in_wire(late, stream, "AfterTheDeadline", "once late 600", kSilence),
      in_wire(late, stream, "OldBlock", "once repeat", kLost),

      in_wire(dripping, modbus_tcp, "ByteByByte", "drip 100", kSilence),
      in_wire(dripping, modbus_rtu, "ByteByByte", "drip 100", kSilence),
      in_wire(dripping, text, "ByteByByte", "drip 100", kSilence),
      in_wire(dripping, stream, "ByteByByte", "drip 100", kSilence),

      in_wire(unexpected, modbus_tcp, "WrongUnit", "once byte 6 9", kLost),
      in_wire(unexpected, modbus_tcp, "WrongFunction", "once byte 7 16", kLost),
      in_wire(unexpected, modbus_tcp, "WrongCount", "once byte 8 3", kLost),
      in_wire(unexpected, modbus_rtu, "WrongUnit", "once sealed byte 0 9", kLost),
      in_wire(unexpected, modbus_rtu, "WrongFunction", "once sealed byte 1 5", kLost),
      in_wire(unexpected, modbus_rtu, "WrongCount", "once sealed byte 2 4", kLost),
      in_wire(unexpected, text, "AnotherAnswer", "once byte 0 34", kLost),
      in_wire(unexpected, stream, "AnotherFormat", "once byte 4 0", kLost),

      in_wire(half_open, modbus_tcp, "HalfClosed", "half-close", kLost),
      in_wire(half_open, modbus_tcp, "Reset", "drop", kLost),
      in_wire(half_open, modbus_rtu, "AdapterPulled", "drop", kLost),
      in_wire(half_open, text, "HalfClosed", "half-close", kLost),
      in_wire(half_open, text, "Reset", "drop", kLost),
      in_wire(half_open, stream, "HalfClosed", "half-close", kLost),
      in_wire(half_open, stream, "Reset", "drop", kLost),
  };
}

inline std::vector<SickCase> cases_at_the_bench() {
  using enum SickRow;
  std::vector<SickCase> cases;
  for (const Wire wire : kWires) {
    const bool streams = wire == Wire::stream;
    const char* const good = streams ? "waveform good" : "channel flow good";
    cases.push_back(by_hand(silent, wire, "NoValue",
                            streams ? "waveform novalue" : "channel flow novalue", good, kSilence,
                            streams ? "supply_current" : "flow"));
    cases.push_back(by_hand(frozen, wire, "Frozen",
                            streams ? "waveform stuck" : "channel flow stuck", good,
                            "channel_stuck, channel_implausible"));
    cases.push_back(by_hand(out_of_range, wire, "OutOfRange",
                            streams ? "waveform offset 25" : "channel flow offset 0.003", good,
                            "channel_out_of_range"));
    cases.push_back(by_hand(relay_refused, wire, "RelayRefused", "relay refused", "relay good",
                            "broken_off_actuator_refused", "motor_relay"));
    cases.push_back(by_hand(valve_stuck, wire, "ValveStuck", "valves stuck", "valves good",
                            "broken_off_actuator_refused", "is read back as"));
    cases.push_back(by_hand(over_limit, wire, "OverPressure",
                            "channel discharge_pressure offset 900000",
                            "channel discharge_pressure good", "trip_bench"));
  }
  return cases;
}

}  // namespace endgate::tests

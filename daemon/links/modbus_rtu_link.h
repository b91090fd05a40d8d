// Modbus RTU behind the Link interface: transaction_link.h over a serial line.
//
// Several units on one line are one link: each request names its unit.  Rules of the serial line:
//
//   frames apart    at least 3.5 characters of silence; above 19200 baud a fixed 1.75 ms
//   end of answer   known from its length, then the check sum; bytes behind it are garbage
//   no answer       the transaction deadline of the device, not a number of characters
//
// Gaps of 1.5 characters inside an answer are not judged: a driver hands over bytes in lumps whose
// timing is its own.  The check sum and the length find a torn frame.
//
// Source: Modbus over Serial Line, Specification and Implementation Guide V1.02, 2.5.1 (from
// memory).

#pragma once

#include "daemon/links/serial_stream.h"
#include "daemon/links/transaction_link.h"

namespace endgate::daemon {

struct ModbusRtuSettings : LinkTimes {
  std::string device;  // for error texts
  SerialSettings line;
  std::uint8_t unit = 1;
};

[[nodiscard]] std::shared_ptr<Link> make_modbus_rtu_link(boost::asio::any_io_executor executor,
                                                         ModbusRtuSettings settings);

// Silence between two frames.
[[nodiscard]] std::chrono::nanoseconds frame_silence(const SerialSettings& line);

}  // namespace endgate::daemon

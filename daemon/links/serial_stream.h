// Bytes over a serial line.
//
// The port is taken for this process alone: a second daemon that opens it is refused.  An answer on
// a serial line carries no number, so one that comes late must never be taken for a fresh one: a
// line counts as open only when it has been silent for `resync_silence`, and what came before is
// thrown away.  A device that answers later than that, and in the very shape of the next answer,
// cannot be told apart on such a wire.

#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <chrono>
#include <cstdint>
#include <memory>
#include <string>

#include "daemon/links/byte_stream.h"

namespace endgate::daemon {

enum class Parity : std::uint8_t { even, odd, none };

struct SerialSettings {
  std::string path;
  unsigned baud = 19200;
  Parity parity = Parity::even;
  int stop_bits = 1;
  std::chrono::milliseconds resync_silence{100};
};

[[nodiscard]] std::shared_ptr<ByteStream> make_serial_stream(boost::asio::any_io_executor executor,
                                                             SerialSettings settings);

// Time of one character: a start bit, eight data bits, parity, stop bits.
[[nodiscard]] std::chrono::nanoseconds character_time(const SerialSettings& settings);

}  // namespace endgate::daemon

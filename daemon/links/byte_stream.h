// How do bytes get to a device and back?  A TCP connection or a serial line, opened again and
// again.
//
// One operation of each kind at a time.  A callback is never called from inside the call that took
// it; after `close()` callbacks of the old connection may still come, with an error or late:
// whoever uses a stream must know them for stale.

#pragma once

#include <boost/system/error_code.hpp>
#include <cstdint>
#include <functional>
#include <span>

namespace endgate::daemon {

class ByteStream {
 public:
  using Done = std::function<void(boost::system::error_code)>;
  using Received = std::function<void(boost::system::error_code, std::size_t)>;

  virtual ~ByteStream() = default;
  virtual void open(Done done) = 0;
  // The bytes must live until `done`.
  virtual void write(std::span<const std::uint8_t> bytes, Done done) = 0;
  virtual void read(std::span<std::uint8_t> into, Received received) = 0;  // at least one byte
  virtual void close() = 0;
};

}  // namespace endgate::daemon

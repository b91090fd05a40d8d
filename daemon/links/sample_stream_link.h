// A device that streams blocks of samples (sample_block.h), behind the Link interface.
//
//   input registers 0, 1   sequence of the newest block, high word first
//   input registers 2, 3   low 32 bits of the device time of its last sample, in microseconds
//
// A read answers at once from what has arrived, with the blocks that came since the read before and
// the moment the newest one came.  Memory is bounded: when nobody reads, the oldest blocks go
// (kMostKept, kMostBytesKept).  A sequence that repeats or steps back is garbage; one that skips is
// a gap, visible in the samples' times.  No block for the transaction deadline closes the link.
// Nothing can be written.

#pragma once

#include "daemon/links/transaction_link.h"

namespace endgate::daemon {

struct SampleStreamSettings : LinkTimes {
  static constexpr std::size_t kMostKept = 256;
  static constexpr std::size_t kMostBytesKept = 8u << 20;
  std::string device;  // for error texts
  std::string host;
  std::uint16_t port = 0;
};

[[nodiscard]] std::shared_ptr<Link> make_sample_stream_link(boost::asio::any_io_executor executor,
                                                            SampleStreamSettings settings);

}  // namespace endgate::daemon

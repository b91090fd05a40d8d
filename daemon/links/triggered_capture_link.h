// A device that samples when it is told to and holds the samples in its registers, as a sample stream:
// Modbus TCP on a connection of its own, behind the Link interface.
//
// Over and over: the trigger is written, the ready register is asked until a capture is there, its
// samples are read in chunks, and the ready register is asked once more.
//
//   TC-1  samples become a block only when the ready register says the same after the last chunk as
//         before the first: two captures are never spliced
//   TC-2  of a capture that is not whole `within` its time, or whose connection is lost, nothing is
//         kept; the link says so and begins anew
//   TC-3  one capture at a time, of kMostSamples at the utmost; at most kMostWaiting blocks wait to be
//         read, the oldest goes
//
// The ready register reads 0 while none is there, and differs from capture to capture; or it is one bit
// that the device clears before it answers the trigger (a capture that another program began and ended
// between two chunks is not seen then).
//
// Reads answer as those of a sample stream do (sample_stream_link.h).  Writes are refused.

#pragma once

#include "daemon/links/modbus_tcp_link.h"
#include "daemon/links/sample_block.h"

namespace endgate::daemon {

struct CaptureSettings {
  static constexpr std::size_t kMostSamples = 60'000;
  static constexpr std::size_t kMostWaiting = 4;

  RegisterWrite trigger;
  RegisterSpan ready;            // one register
  std::optional<int> ready_bit;  // absent: the register is a number
  // Time of the first sample, u32, high word first; absent: halfway of the trigger on the steady clock.
  std::optional<RegisterSpan> time;
  double time_tick_s = 0.001;
  RegisterSpan samples;  // function and first address; the count is that below
  std::size_t count = 0;
  SampleType type = SampleType::int16;
  bool low_word_first = false;
  std::int64_t period_ns = 0;
  std::uint16_t most_registers = 125;  // of one chunk
  std::chrono::milliseconds ask_every{5};
  std::chrono::milliseconds within{5000};  // from trigger to whole block
};

[[nodiscard]] std::shared_ptr<Link> make_triggered_capture_link(
    boost::asio::any_io_executor executor, ModbusTcpSettings wire, CaptureSettings capture);

}  // namespace endgate::daemon

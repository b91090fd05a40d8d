// How does the daemon talk to one device of a bench, whatever the wire protocol?
//
// A device is registers of 16 bits.  What has none is given some by its link: an instrument's
// queries and the columns of a sample stream are numbers of four registers each, so poll plan,
// frame and trace know one kind of device only (kWordsOfNumber; scpi_dialogue.h, sample_stream.h).
//
// One outstanding transaction.  Writes go before queued reads, and a write marked `at_once` (motor
// off) before everything queued; what is queued in turn for the same register fails as `lost`: it
// would undo the urgent one.  Requests belong to one connection: when it is lost, or any answer
// is late or wrong, everything queued fails and the connection is closed, so that a late answer is
// never taken for a fresh one and an old "on" is never replayed.  The link reconnects by itself
// for ever, with a growing pause.
//
// Threading: members and callbacks on the executor the link was made with.  A callback is called
// exactly once, never from inside the call that took it; after `close()` none is called any more.

#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace endgate::daemon {

inline constexpr std::uint16_t kWordsOfNumber = 4;  // a double, high word first

struct RegisterSpan {
  int function = 4;  // 3, 4: words; 1, 2: single bits, each a word of 0 or 1
  std::uint16_t address = 0;
  std::uint16_t count = 0;             // 1 ... 125
  std::optional<std::uint8_t> unit{};  // behind a gateway or on a shared line; absent: the link's
};

struct RegisterWrite {
  std::uint16_t address = 0;
  std::vector<std::uint16_t> values;
  // 0: one value is written by function 6, several by 16.  5: a single bit.  22: one register,
  // values are the bits to keep and the bits to set.
  int function = 0;
  std::optional<std::uint8_t> unit{};
};

struct LinkError {
  enum class Kind {
    lost,     // not connected, closed or reset
    silent,   // no whole answer before the deadline
    garbled,  // an answer that does not fit its request
    refused,  // the device answered with an exception; the link stays up
  };
  Kind kind = Kind::lost;
  int exception = 0;  // of `refused`
  std::string text;   // device, what happened
};

struct SampleBlock;  // sample_block.h

struct SpanAnswer {
  std::vector<std::uint16_t> words;  // empty when `exception` is not 0
  int exception = 0;
  std::chrono::steady_clock::time_point sent{};
  std::chrono::steady_clock::time_point arrived{};
  // What streamed in since the read before, oldest first; only of links that stream.
  std::vector<std::shared_ptr<const SampleBlock>> blocks{};
};

struct ReadAnswer {
  std::vector<SpanAnswer> spans;   // in the order asked; none when `error` is set
  std::optional<LinkError> error;  // lost, silent or garbled
};

class Link {
 public:
  struct Events {
    std::function<void()> opened;
    std::function<void(const LinkError& why)> closed;
    // Of a link that streams: a block as it comes; the next read hands it over as well.
    std::function<void(const SampleBlock&, std::chrono::steady_clock::time_point)> block{};
  };
  using ReadDone = std::function<void(ReadAnswer)>;
  using WriteDone = std::function<void(std::optional<LinkError>)>;
  enum class Urgency { in_turn, at_once };

  virtual ~Link() = default;
  virtual void open(Events events) = 0;
  virtual void read(std::vector<RegisterSpan> spans, ReadDone done) = 0;
  virtual void write(RegisterWrite write, Urgency urgency, WriteDone done) = 0;
  [[nodiscard]] virtual bool is_open() const = 0;
  virtual void close() = 0;  // for good
};

}  // namespace endgate::daemon

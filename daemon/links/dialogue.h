// What is said to a device, and is this its answer?  One exchange at a time, without socket, clock
// or thread; bounded whatever arrives.
//
//   ask / tell / greet  -> bytes to send
//   feed(bytes)         -> needs_more | say_more (send `more()` and go on) | done | refused |
//   garbled

#pragma once

#include <chrono>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "daemon/links/link.h"

namespace endgate::daemon {

class Dialogue {
 public:
  using Bytes = std::vector<std::uint8_t>;
  enum class State { needs_more, say_more, done, refused, garbled };

  virtual ~Dialogue() = default;
  [[nodiscard]] virtual Bytes ask(const RegisterSpan& span) = 0;
  [[nodiscard]] virtual Bytes tell(const RegisterWrite& write) = 0;
  // The first exchange of a connection; empty: none is needed.
  [[nodiscard]] virtual Bytes greet() { return {}; }
  virtual State feed(std::span<const std::uint8_t> bytes) = 0;
  [[nodiscard]] virtual Bytes more() { return {}; }

  [[nodiscard]] virtual std::vector<std::uint16_t> words() const = 0;  // done, of a read
  [[nodiscard]] virtual int exception() const = 0;                     // refused; not 0
  [[nodiscard]] virtual std::string text() const = 0;                  // refused or garbled: why
  // How long the line must be silent between an answer and the next request.
  [[nodiscard]] virtual std::chrono::nanoseconds silence_between() const {
    return std::chrono::nanoseconds::zero();
  }
};

}  // namespace endgate::daemon

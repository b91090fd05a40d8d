// Two serial ports joined by a cable: a thread carries the bytes both ways.

#pragma once

#include <poll.h>

#include <array>
#include <atomic>
#include <thread>

#include "tests/support/pseudo_terminal.h"

namespace endgate::tests {

class SerialCable {
 public:
  SerialCable() : carrier_([this] { carry(); }) {}
  ~SerialCable() {
    stop_ = true;
    carrier_.join();
  }
  [[nodiscard]] const std::string& one() const { return one_.path(); }
  [[nodiscard]] const std::string& other() const { return other_.path(); }

 private:
  void carry() {
    while (!stop_) {
      std::array<pollfd, 2> ends{{{one_.master(), POLLIN, 0}, {other_.master(), POLLIN, 0}}};
      if (::poll(ends.data(), ends.size(), 20) <= 0) continue;
      if ((ends[0].revents & POLLIN) != 0) pass(one_.master(), other_.master());
      if ((ends[1].revents & POLLIN) != 0) pass(other_.master(), one_.master());
    }
  }

  static void pass(int from, int to) {
    std::array<char, 512> bytes;
    const auto count = ::read(from, bytes.data(), bytes.size());
    if (count > 0 && ::write(to, bytes.data(), static_cast<std::size_t>(count)) < 0) return;
  }

  PseudoTerminal one_, other_;
  std::atomic<bool> stop_{false};
  std::thread carrier_;
};

}  // namespace endgate::tests

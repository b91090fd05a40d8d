// A device at the end of a serial line that answers each lump of bytes as a test says: at once,
// late, drop by drop or not at all.  Lives on the test's io_context.

#pragma once

#include <array>
#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/write.hpp>
#include <chrono>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "tests/support/pseudo_terminal.h"

namespace endgate::tests {

class ScriptedSerialPeer {
 public:
  using Bytes = std::vector<std::uint8_t>;
  struct Heard {
    Bytes bytes;
    std::chrono::steady_clock::time_point at{};
  };

  explicit ScriptedSerialPeer(boost::asio::io_context& io)
      : io_(io), end_(io, ::dup(line_.master())) {
    listen();
  }

  [[nodiscard]] const std::string& path() const { return line_.path(); }

  // The script.
  std::function<Bytes(const Bytes&)> answer;  // empty: silence
  std::chrono::milliseconds delay{0};
  std::optional<std::chrono::milliseconds> drip;  // one byte each so often
  std::vector<Heard> heard;

  void say(Bytes bytes) { send(std::make_shared<Bytes>(std::move(bytes)), 0); }

 private:
  void listen() {
    end_.async_read_some(boost::asio::buffer(buffer_),
                         [this](boost::system::error_code error, std::size_t count) {
                           if (error) return;
                           take({buffer_.begin(), buffer_.begin() + static_cast<long>(count)});
                           listen();
                         });
  }

  void take(Bytes bytes) {
    heard.push_back({bytes, std::chrono::steady_clock::now()});
    Bytes reply = answer ? answer(bytes) : Bytes{};
    if (reply.empty()) return;
    if (delay.count() == 0) return say(std::move(reply));
    later(delay, [this, reply = std::move(reply)] { say(reply); });
  }

  void send(const std::shared_ptr<Bytes>& bytes, std::size_t from) {
    if (from >= bytes->size()) return;
    const std::size_t count = drip ? 1 : bytes->size() - from;
    boost::asio::async_write(
        end_, boost::asio::buffer(bytes->data() + from, count),
        [this, bytes, from, count](boost::system::error_code error, std::size_t) {
          if (!error && drip) later(*drip, [=, this] { send(bytes, from + count); });
        });
  }

  void later(std::chrono::milliseconds wait, std::function<void()> what) {
    auto timer = std::make_shared<boost::asio::steady_timer>(io_, wait);
    timer->async_wait([timer, what = std::move(what)](boost::system::error_code) { what(); });
  }

  boost::asio::io_context& io_;
  PseudoTerminal line_;
  boost::asio::posix::stream_descriptor end_;
  std::array<std::uint8_t, 512> buffer_{};
};

}  // namespace endgate::tests

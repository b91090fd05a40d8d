#include "daemon/line/heartbeat.h"

#include <atomic>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>

namespace endgate::daemon {

struct Heartbeat::Round : std::enable_shared_from_this<Round> {
  Round(boost::asio::io_context& io, std::vector<Ask> asked, std::chrono::milliseconds every,
        std::function<void()> call)
      : timer(io), threads(std::move(asked)), period(every), alive(std::move(call)) {}

  // A round whose answers are not all in is waited for, not begun again.
  void begin() {
    if (open == 0) {
      if (answered) alive();
      ask_all();
    }
    timer.expires_after(period);
    timer.async_wait([self = shared_from_this()](const boost::system::error_code& error) {
      if (!error) self->begin();
    });
  }

  void ask_all() {
    answered = true;
    for (const Ask& ask : threads) {
      ++open;
      if (ask([self = shared_from_this()] { --self->open; })) continue;
      --open;
      answered = false;
    }
  }

  boost::asio::steady_timer timer;
  std::vector<Ask> threads;
  std::chrono::milliseconds period;
  std::function<void()> alive;
  std::atomic<std::size_t> open = 0;
  bool answered = false;  // by all, once no answer is open
};

Heartbeat::Heartbeat(boost::asio::io_context& io, std::vector<Ask> threads,
                     std::chrono::milliseconds period, std::function<void()> alive)
    : round_(std::make_shared<Round>(io, std::move(threads), period, std::move(alive))) {
  boost::asio::post(io, [round = round_] { round->begin(); });
}

Heartbeat::~Heartbeat() { round_->timer.cancel(); }

}  // namespace endgate::daemon

// Does every thread that a test rests on still turn?
//
// Each period every thread is asked for a sign of life.  `alive` is called when all have answered,
// at most once a period; a thread that hangs ends the calls, and whoever waits for them (the
// service manager's watchdog) starts the service anew: its first act is motor off.
//
// Threading: lives on `io`; answers may come from any thread.  Stops with its destruction, which
// must not run beside `io`.

#pragma once

#include <boost/asio/io_context.hpp>
#include <chrono>
#include <functional>
#include <memory>
#include <vector>

namespace endgate::daemon {

class Heartbeat {
 public:
  // Runs its argument on the thread that is asked; false: that thread takes no work just now.
  using Ask = std::function<bool(std::function<void()>)>;

  Heartbeat(boost::asio::io_context& io, std::vector<Ask> threads, std::chrono::milliseconds period,
            std::function<void()> alive);
  ~Heartbeat();
  Heartbeat(const Heartbeat&) = delete;
  Heartbeat& operator=(const Heartbeat&) = delete;

 private:
  struct Round;
  std::shared_ptr<Round> round_;
};

}  // namespace endgate::daemon

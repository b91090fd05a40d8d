// What is the next thing to tell a page that listens?  The newest state of each bench, never a
// backlog: what a page has missed is gone.
//
// Thread safety: `frame` on the service thread only; `changed` is called on any thread.

#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "daemon/line/application.h"

namespace endgate::daemon {

// One state as it goes over the wire, made once for all listeners.
struct LiveFrame {
  std::uint64_t version = 0;
  std::string state{};    // event "line"
  std::string picture{};  // event "picture": the curve, sent only when it changed
};

class LiveFeed {
 public:
  LiveFeed(Application& application, std::function<void()> changed);
  ~LiveFeed();
  LiveFeed(const LiveFeed&) = delete;
  LiveFeed& operator=(const LiveFeed&) = delete;

  [[nodiscard]] std::vector<std::string> benches() const;
  [[nodiscard]] std::shared_ptr<const LiveFrame> frame(const std::string& bench);

 private:
  Application& application_;
  std::map<std::string, std::shared_ptr<const LiveFrame>> newest_{};
  std::uint64_t subscription_ = 0;
};

// What one listener has been told; gives the bytes of what is new to it, empty when nothing is.
class LiveListener {
 public:
  explicit LiveListener(std::string only_bench) : only_bench_(std::move(only_bench)) {}
  [[nodiscard]] std::string news(LiveFeed& feed);

 private:
  std::string only_bench_{};
  std::map<std::string, std::shared_ptr<const LiveFrame>> told_{};
};

[[nodiscard]] std::string server_event(const std::string& name, const std::string& data);

}  // namespace endgate::daemon

// Who serves the pages, the API and the live feed?  Hides Beast: include this, never Beast.
//
//   gate: refuses what RFC 9112 lets in by mistake (see tests/service), then limits, deadlines
//   routes: one table, deny by default
//   live feed: Server-Sent Events, the next state and never a backlog

#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>

#include "daemon/line/application.h"
#include "daemon/line/stray.h"

namespace endgate::daemon {

struct HttpSettings {
  std::string address = "127.0.0.1";
  std::uint16_t port = 0;  // 0: any free port
  std::chrono::milliseconds question_answered_within = kQuestionAnsweredWithin;
  std::chrono::milliseconds command_answered_within = kCommandAnsweredWithin;
};

class HttpServer {
 public:
  // Binds at once (throws CannotListen, listen.h, with the address); serves on a thread of its own.
  // `stray`: of an exception on that thread that nobody awaited; what still can be served is.
  HttpServer(
      const HttpSettings& settings, Application& application,
      TellStray stray = [](const std::string&) {});
  ~HttpServer();  // stops and joins
  [[nodiscard]] std::uint16_t port() const;
  // Runs what it is given on that thread, as a sign of life; drops it once the server has ended,
  // which it may outlive.
  [[nodiscard]] std::function<void(std::function<void()>)> on_thread() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace endgate::daemon

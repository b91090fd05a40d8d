// What does a browser see while the service cannot begin, because its store cannot be opened?
//
// Every question is answered with 503 and one sentence: a page that asks again by itself, so that
// the line has its own page back as soon as there is one; JSON under /api and /readyz.  Nothing else
// is served, no Stop either: no test runs, and motor off was sent before.
//
// Bounded: kMostClients at a time, each for kClientDeadline.  Serves on a thread of its own.

#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <string>

#include "daemon/service/http_server.h"

namespace endgate::daemon {

class ClosedPage {
 public:
  static constexpr std::size_t kMostClients = 32;
  static constexpr std::chrono::seconds kClientDeadline{3};

  // Binds at once; throws CannotListen (listen.h) with the address.
  ClosedPage(const HttpSettings& settings, std::string sentence);
  ~ClosedPage();  // stops and joins
  [[nodiscard]] std::uint16_t port() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace endgate::daemon

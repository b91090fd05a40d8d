// Which handler answers which method and path?  One table; what is not in it does not exist.

#pragma once

#include <span>
#include <string>
#include <string_view>

#include "daemon/line/application.h"
#include "daemon/service/message.h"

namespace endgate::daemon {

using Handler = void (*)(Application& application, const Request& request, const Reply& reply);

struct Route {
  std::string_view method;
  std::string_view pattern;  // "/api/v1/benches/{bench}/stop"
  Handler handler;
  bool always = false;  // never rate-limited and served on reserved connections: stop
};

[[nodiscard]] std::span<const Route> routes();

// nullptr: `request.path` or its method is not served.  Fills `request.parameters`.
[[nodiscard]] const Route* find_route(Request& request);

// Answers 404 and 405 itself; a handler that throws is answered as 500 without its words.
void answer(Application& application, Request request, const Reply& reply);

}  // namespace endgate::daemon

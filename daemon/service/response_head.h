// Which header fields does every answer carry?

#pragma once

#include <string>

#include "daemon/service/message.h"

namespace endgate::daemon {

// No inline style or script, nothing foreign, no framing; scripts cannot write markup.
inline constexpr const char* kContentPolicy =
    "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self'; "
    "connect-src 'self'; require-trusted-types-for 'script'; frame-ancestors 'none'; "
    "base-uri 'none'; form-action 'self'";

// Status line and fields with the empty line behind them.  The server writes the body after it.
[[nodiscard]] std::string response_head(const Response& response);
[[nodiscard]] std::string live_feed_head();

}  // namespace endgate::daemon

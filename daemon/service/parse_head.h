// What does a whole request head say?  Hides Beast, which reads it.

#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "daemon/service/message.h"

namespace endgate::daemon {

// `head` ends with its empty line (daemon/service/head_scan.h).  Nothing: it is not well formed.
[[nodiscard]] std::optional<RequestHead> parse_head(const std::string& head);

[[nodiscard]] std::string lower_case(std::string_view text);  // ASCII only

}  // namespace endgate::daemon

// A wall-clock instant as people read it.

#pragma once

#include <cstdint>
#include <string>

namespace endgate::daemon {

[[nodiscard]] std::string say_utc_minute(std::int64_t utc_ms);  // "2026-11-25 10:42"

}  // namespace endgate::daemon

#include "daemon/line/say_time.h"

#include <array>
#include <ctime>

namespace endgate::daemon {

std::string say_utc_minute(std::int64_t utc_ms) {
  const std::time_t seconds = static_cast<std::time_t>(utc_ms / 1000);
  std::tm utc{};
  gmtime_r(&seconds, &utc);
  std::array<char, 32> text{};
  const std::size_t length = std::strftime(text.data(), text.size(), "%Y-%m-%d %H:%M", &utc);
  return {text.data(), length};
}

}  // namespace endgate::daemon

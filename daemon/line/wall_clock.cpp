#include "daemon/line/wall_clock.h"

#include <sys/timex.h>

#include <chrono>

namespace endgate::daemon {

schema::WallClock wall_clock_now() {
  const auto since_epoch = std::chrono::system_clock::now().time_since_epoch();
  schema::WallClock now;
  now.utc_ms = std::chrono::duration_cast<std::chrono::milliseconds>(since_epoch).count();
  timex kernel{};
  const int state = adjtimex(&kernel);
  now.synchronised = state >= 0 && state != TIME_ERROR && (kernel.status & STA_UNSYNC) == 0;
  now.max_error_us = state >= 0 ? kernel.maxerror : -1;
  return now;
}

}  // namespace endgate::daemon

#include "daemon/cli/service_manager.h"

#include <systemd/sd-daemon.h>

#include <cstdint>

namespace endgate::daemon::service_manager {

// Nobody listens: nothing to do about it, and no reason to stop testing.
void tell_ready() { (void)sd_notify(0, "READY=1"); }
void tell_stopping() { (void)sd_notify(0, "STOPPING=1"); }
void tell_alive() { (void)sd_notify(0, "WATCHDOG=1"); }

std::optional<std::chrono::milliseconds> watchdog() {
  std::uint64_t time_us = 0;
  if (sd_watchdog_enabled(0, &time_us) <= 0) return std::nullopt;
  return std::chrono::milliseconds(time_us / 1000);
}

}  // namespace endgate::daemon::service_manager

// What does systemd hear of us?  Nothing when it did not start us.
//
// The notification protocol of sd_notify(3): READY, STOPPING and, when the unit has WatchdogSec,
// WATCHDOG before half of that time is over.

#pragma once

#include <chrono>
#include <optional>

namespace endgate::daemon::service_manager {

void tell_ready();
void tell_stopping();
void tell_alive();

// The longest time between two tell_alive(); nothing when no watchdog waits for them.
[[nodiscard]] std::optional<std::chrono::milliseconds> watchdog();

}  // namespace endgate::daemon::service_manager

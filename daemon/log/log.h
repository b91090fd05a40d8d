// Where do the daemon's own words go?  To standard error, by a thread of its own.
//
// Never blocks and is never the record: when the queue is full the oldest line is overwritten and
// counted.  Until start_log is called lines are dropped.

#pragma once

#include <string_view>

namespace endgate::daemon {

// "trace", "debug", "info", "warning", "error" or "off".
void start_log(std::string_view level);
void stop_log();  // writes what is queued, and how many lines were lost

void log_info(std::string_view line);
void log_warning(std::string_view line);
void log_error(std::string_view line);

}  // namespace endgate::daemon

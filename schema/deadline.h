// Until when may a question to the store run?
//
// A question of a person may cost a pass over millions of tests.  With a deadline it ends by
// StoreFault::out_of_time instead of holding its thread for minutes; nothing was changed by then.
// Commands of their own process have none.
//
// CLOCK  the steady one; looked at about every 1000 instructions of SQLite, that is every few
//        hundred rows, and by StoreReader::hold_to_deadline() in loops that read nothing.

#pragma once

#include <chrono>

namespace endgate::schema {

using Deadline = std::chrono::steady_clock::time_point;
inline constexpr Deadline kNoDeadline = Deadline::max();

[[nodiscard]] inline bool is_over(Deadline deadline) {
  return deadline != kNoDeadline && std::chrono::steady_clock::now() >= deadline;
}

}  // namespace endgate::schema

// In which shift of the plant did something happen?

#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace endgate::daemon {

struct ShiftPlan {
  std::vector<int> begins_min{};  // after midnight, plant time, ascending; empty: not stated
  [[nodiscard]] bool stated() const { return !begins_min.empty(); }
};

// "06:00 to 14:00", by the clock of this machine's time zone; a shift that begins in the evening
// goes on until the first of the next day.  Empty: the plan is not stated.
[[nodiscard]] std::string shift_at(const ShiftPlan& plan, std::int64_t utc_ms);

}  // namespace endgate::daemon

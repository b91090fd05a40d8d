#include "daemon/line/line_state.h"

#include <algorithm>

namespace endgate::daemon {

// A closed link takes every value and every input with it.
bool not_heard(const LineState& line) {
  const auto heard = [](const LiveValue& value) { return value.value_si.has_value(); };
  return line.phase == LinePhase::running && !line.live.values.empty() &&
         std::ranges::none_of(line.live.values, heard);
}

}  // namespace endgate::daemon

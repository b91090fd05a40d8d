// The stored life of a unit in the words of its page.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "daemon/queries/unit_history.h"
#include "daemon/views/trace_view.h"
#include "reports/unit_page.h"

namespace endgate::daemon {

// `attempt` picks the test shown in full, without one the latest; null: there is no such attempt.
// The unit has at least one test.
[[nodiscard]] const schema::StoredRecord* chosen_test(const UnitHistory& unit,
                                                      std::optional<std::int64_t> attempt);

[[nodiscard]] reports::UnitPage unit_page_of(const UnitHistory& unit,
                                             const schema::StoredRecord& chosen,
                                             const TraceShown& trace);

}  // namespace endgate::daemon

// How does a test of a unit stand against the test it left the line with?

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/compare_tests.h"
#include "daemon/queries/unit_history.h"

namespace endgate::daemon {

// The first passed test that was not of a returned unit; nullptr: there is none.
[[nodiscard]] const schema::StoredRecord* birth_of(const UnitHistory& unit);

struct AgainstBirth {
  std::int64_t birth_attempt = 0;
  std::vector<analysis::Difference> differences{};
  std::string sentence{};
  std::string taken_out{};  // what was common to both and cancels, in words; empty: nothing
};
// Absent: the unit has no birth test, or `later` is not later than it.  As measured.
[[nodiscard]] std::optional<AgainstBirth> against_birth(const UnitHistory& unit,
                                                        const schema::StoredRecord& later);
// The same with what the benches read differently taken out, where the store knows enough of them.
[[nodiscard]] std::optional<AgainstBirth> against_birth(const schema::StoreReader& store,
                                                        const UnitHistory& unit,
                                                        const schema::StoredRecord& later);

}  // namespace endgate::daemon

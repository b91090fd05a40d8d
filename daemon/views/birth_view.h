// A test against the unit's birth test, as its page and the command show it.

#pragma once

#include <vector>

#include "daemon/queries/against_birth.h"
#include "daemon/queries/earlier_returns.h"
#include "reports/unit_page.h"

namespace endgate::daemon {

// One row per metric; `earlier` may be nullptr: nothing is told of earlier returns.
[[nodiscard]] std::vector<reports::ChangeRow> change_rows(const AgainstBirth& against,
                                                          const EarlierReturns* earlier);

// What the benches read differently is taken out; the page stays as it is without a birth test.
[[nodiscard]] reports::UnitPage with_birth(reports::UnitPage page, const schema::StoreReader& store,
                                           const UnitHistory& unit,
                                           const schema::StoredRecord& chosen);

}  // namespace endgate::daemon

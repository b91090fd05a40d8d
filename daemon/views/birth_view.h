// A test against the unit's birth test, as its page shows it.

#pragma once

#include "daemon/queries/against_birth.h"
#include "daemon/queries/earlier_returns.h"
#include "reports/unit_page.h"

namespace endgate::daemon {

void add_against_birth(reports::UnitPage& page, const AgainstBirth& against);

// Beside the same changes, where earlier returns of that age can be told of; after
// add_against_birth.
[[nodiscard]] reports::UnitPage with_earlier_returns(reports::UnitPage page,
                                                     const schema::StoreReader& store,
                                                     const UnitHistory& unit,
                                                     const schema::StoredRecord& chosen);

}  // namespace endgate::daemon

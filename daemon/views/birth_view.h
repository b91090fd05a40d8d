// A test against the unit's birth test, as its page shows it.

#pragma once

#include "daemon/queries/against_birth.h"
#include "reports/unit_page.h"

namespace endgate::daemon {

void add_against_birth(reports::UnitPage& page, const AgainstBirth& against);

}  // namespace endgate::daemon

// What do the numbers of one test mean for somebody who buys the unit?

#pragma once

#include <vector>

#include "reports/unit_page.h"
#include "schema/facts.h"

namespace endgate::daemon {

// Fill times of a few vessels by the curve as drawn; empty where the curve does not cover them.
[[nodiscard]] std::vector<reports::NamedFact> fill_times_of(const schema::Record& record);

}  // namespace endgate::daemon

// Why did a step or a loop end, in words?  Kept in the mark of the step and shown with it.
//
// Values come in SI and are said in the unit of their role, of a difference without its "gauge" or
// zero: "the head temperature rose above 120 °C, to 120.3 °C".  No errors.

#pragma once

#include <string>

#include "daemon/definitions/trial_plan.h"

namespace endgate::daemon {

[[nodiscard]] std::string end_words(const EndCondition& end, double value_si);

// Two turns whose highest value of the role differed by so little.
[[nodiscard]] std::string alike_words(analysis::Role role, double change_si);

}  // namespace endgate::daemon

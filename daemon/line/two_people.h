// Are these the names of two different people?  Names are claimed, not proven, so what differs only
// by case, blanks or dots is one person.

#pragma once

#include <string>

namespace endgate::daemon {

// False when the second name is empty.
[[nodiscard]] bool two_people(const std::string& first, const std::string& second);

}  // namespace endgate::daemon

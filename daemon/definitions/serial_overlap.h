// Can one serial have the form of two patterns?  Then a scan could not tell the model.
//
// Answered exactly for patterns made of characters, classes such as [0-9A-Z], '.', \d, \w and the
// repeats ?, *, +, {n}, {m,n}, as serial patterns are.  With groups or alternatives no overlap is
// claimed; a scan that fits two models is refused all the same.

#pragma once

#include <string>

namespace endgate::daemon {

[[nodiscard]] bool patterns_overlap(const std::string& first, const std::string& second);

}  // namespace endgate::daemon

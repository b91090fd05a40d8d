// What the mark of a step says when advice ended it.

#pragma once

#include <string>

#include "analysis/advise.h"

namespace endgate::daemon {

// "decided, seen at 21.250 s": what was advised, at which moment of the test.
[[nodiscard]] std::string advised(const analysis::Advice& advice);

}  // namespace endgate::daemon

// Do the files of one folder contradict each other?  Each may be right by itself: two benches at
// one address, one owner word for two benches, one serial pattern for two models.

#pragma once

#include <vector>

#include "daemon/definitions/load.h"

namespace endgate::daemon {

// Files that do not load are left out: they have errors of their own.
[[nodiscard]] std::vector<DefinitionError> conflicts_in(const std::vector<DefinitionFile>& files,
                                                        const std::filesystem::path& folder);

}  // namespace endgate::daemon

// Which software judged?  Written into every fact.

#pragma once

#include <string>

namespace endgate::daemon {

[[nodiscard]] std::string software_version();  // "endgate 0.1.0"

}  // namespace endgate::daemon

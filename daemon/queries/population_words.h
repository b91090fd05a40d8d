// Capability, yield and what-if in words of our own, one statement a line.

#pragma once

#include <string>
#include <vector>

#include "daemon/queries/capability_told.h"
#include "daemon/queries/what_if.h"
#include "daemon/queries/yield_told.h"

namespace endgate::daemon {

[[nodiscard]] std::vector<std::string> words_of(const CapabilityTold& told);
[[nodiscard]] std::vector<std::string> words_of(const YieldTold& told);
[[nodiscard]] std::vector<std::string> words_of(const WhatIf& answer, const std::string& metric);
// "93.7 % (84.8 to 97.5 %), 59 of 63"
[[nodiscard]] std::string share_words(const Share& share);

}  // namespace endgate::daemon

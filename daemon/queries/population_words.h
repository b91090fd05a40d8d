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
// "Of them 12 were held against no limit on it then."; empty when all were.
[[nodiscard]] std::string without_limit_words(const WhatIf& answer);
// Of the units a draft would change: how many would clear it if each value lay elsewhere within its
// u, the values being independent.  "With each value moved by chance within its uncertainty, 41 ±
// 3"
[[nodiscard]] std::string near_words(const WhatIf& answer);
// "Flow at 400 kPa below its lower limit"; `subject` is a metric or a channel.
[[nodiscard]] std::string reason_words(const std::string& code, const std::string& subject);
// "bench north, shift 06:00 to 14:00, Ada"
[[nodiscard]] std::string stops_of_whom(const YieldTold::Stops& stops);
// Why stops are not told by shift; empty: they are, or nobody stopped a test.
[[nodiscard]] std::string shifts_words(const YieldTold& told);
// "93.7 % (84.8 to 97.5 %), 59 of 63"
[[nodiscard]] std::string share_words(const Share& share);

}  // namespace endgate::daemon

// After how many facts does a long command say how far it is?

#pragma once

#include <cstdint>

namespace endgate::daemon {

inline constexpr std::int64_t kTellEvery = 10000;

}  // namespace endgate::daemon

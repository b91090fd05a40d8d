// What do the units of a model that failed at their first test most likely suffer from?

#pragma once

#include <string>
#include <vector>

#include "daemon/queries/yield_told.h"

namespace endgate::daemon {

struct FailCauses {
  struct Named {
    std::string cause{};  // the likeliest of the record, in words; empty: none was stated
    Share units{};        // of those looked at
  };
  std::vector<Named> causes{};  // most frequent first
  std::int64_t failed = 0, looked_at = 0;
};

inline constexpr std::size_t kFailsLookedAt = 500;  // the newest; each record is decoded

// Production and its retests; first tests as in first_tests.h.
[[nodiscard]] FailCauses fail_causes_of(const schema::StoreReader& store, TrendFilter filter,
                                        std::size_t most = kFailsLookedAt);

// "Likely cause of the fails at the first test: worn piston ring: 93.7 % (...), 59 of 63."; nothing
// when none failed.
[[nodiscard]] std::vector<std::string> words_of(const FailCauses& told);

}  // namespace endgate::daemon

// What do earlier tests of a serial say, in the words of the analysis?

#pragma once

#include <span>
#include <vector>

#include "analysis/standing.h"
#include "schema/facts.h"
#include "schema/store.h"

namespace endgate::daemon {

// `repairs`: positions of this serial's repairs, ascending.
[[nodiscard]] std::vector<analysis::PastTest> past_tests(
    std::span<const schema::StoredRecord> oldest_first, std::span<const schema::Position> repairs);

}  // namespace endgate::daemon

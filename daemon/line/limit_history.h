// Which limits did a model have, who changed them, when and why?

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/context.h"
#include "schema/store.h"

namespace endgate::daemon {

// One limit as a version of the set says it; told only where it differs from the version before.
struct LimitChange {
  std::int64_t version = 0, at_utc_ms = 0;
  std::string by{}, second_by{}, why{};
  std::string metric{};
  std::optional<analysis::Limit> limit{};  // absent: it is no longer held
};

// Oldest version first.  A text that no longer loads is told as one change without a metric.
[[nodiscard]] std::vector<LimitChange> limit_history(const schema::StoreReader& store,
                                                     const std::string& model);

// "at least 40.0 L/min, band 1.645 u", "at most 3.20 A, no band, warns only", "no longer held"
[[nodiscard]] std::string words_of(const LimitChange& change);

}  // namespace endgate::daemon

// Which models and benches does a store know, to ask about them?

#pragma once

#include <optional>
#include <span>

#include "daemon/views/tests_asked.h"
#include "schema/store.h"

namespace endgate::daemon {

inline constexpr std::size_t kNewestLookedAt = 200;

// Those ever accepted as a definition, and those that the newest tests name; sorted.
[[nodiscard]] TestsKnown known_in(const schema::StoreReader& store,
                                  std::span<const schema::StoredRecord> newest);
[[nodiscard]] TestsKnown known_in(const schema::StoreReader& store);

// Also whether the lot asked for is known to the store.
[[nodiscard]] std::optional<WrongQuestion> wrong_with(const schema::StoreReader& store,
                                                      const TestsAsked& asked,
                                                      const TestsKnown& known);

}  // namespace endgate::daemon

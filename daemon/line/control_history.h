// Which control limits were ever frozen, and how are new ones made from a stated span of tests?

#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/definitions/control_facts.h"
#include "daemon/queries/control_told.h"
#include "daemon/queries/trend_columns.h"
#include "schema/store.h"

namespace endgate::daemon {

struct FrozenText {
  schema::Definition version{};
  std::optional<ControlFacts> facts{};  // absent: this text can no longer be read
};
// Oldest first.
[[nodiscard]] std::vector<FrozenText> frozen_texts(const schema::StoreReader& store);

// The versions that judge what such a question shows: of the same bench, or of all when none is
// asked for, and of the same purpose.
[[nodiscard]] std::vector<ControlVersion> control_versions(const schema::StoreReader& store,
                                                           const TrendFilter& filter,
                                                           const std::string& metric);

struct FreezeAsked {
  TrendFilter tests{};  // model, bench, purpose
  std::string metric{};
  std::string first_batch{}, last_batch{};
  std::vector<std::string> left_out{};
  statistics::ControlRules rules = statistics::kUsualRules;
};
// A sentence that says what is wrong and what to do: too few batches or tests, a batch that is not
// there, or one that is not like the others and was not left out.
using Frozen = std::variant<ControlFacts, std::string>;
[[nodiscard]] Frozen freeze_control(const schema::StoreReader& store, const FreezeAsked& asked);

}  // namespace endgate::daemon

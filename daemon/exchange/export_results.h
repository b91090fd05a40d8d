// Which results of a store go into a file?  In the order of the store.
//
// Our own tests, or what was imported, never both in one file: numbers from elsewhere are told
// apart by whoever adds them to ours on purpose.

#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "daemon/exchange/write_results.h"
#include "schema/store.h"

namespace endgate::daemon {

struct ResultsAsked {
  bool imported = false;
  std::string model{}, bench{}, batch{}, purpose{};  // empty: every one
  std::optional<std::int64_t> since_utc_ms{}, before_utc_ms{};
  schema::Position behind = 0;         // only what lies behind this position
  std::optional<std::int64_t> most{};  // rows
};

// Throws StoreFault; a stream that fails is the caller's to see.
void export_results(const schema::StoreReader& store, const ResultsAsked& asked,
                    ResultWriter& writer);

}  // namespace endgate::daemon

// Is every fact still what was sealed?

#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>

#include "schema/facts.h"

namespace endgate::schema {

struct VerifyResult {
  std::int64_t facts = 0;             // checked
  std::int64_t traces = 0;            // decoded and hashed, when asked
  std::int64_t pieces = 0;            // of long traces, likewise
  std::int64_t removed = 0;           // traces not there, as a fact states
  std::optional<Position> first_bad;  // 0: the file as a whole, no single fact
  std::string what;  // of the first bad fact: "bytes do not match their hash", "column serial …"
  Hash head{};
};

// Recomputes leaf and head of each fact, compares the columns beside the bytes, checks the
// numbering and the signed heads, and lets SQLite look at its own pages.  With `traces`, decodes
// each trace, with every piece that a long one names, and compares its hash; a trace may lack only
// when a fact states its removal.  Reads stores of every
// version up to this program's.
[[nodiscard]] VerifyResult verify(const std::filesystem::path& folder, bool traces,
                                  const std::function<void(std::int64_t done)>& progress = {});

}  // namespace endgate::schema

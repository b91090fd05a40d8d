// What lies in the folder that `copy_out` made?  One record and its trace, with nothing else
// needed.
//
//   record.fact  format u16 = 1 | store id 16 | position u64 | head before 32 | head 32 |
//                length u32 | the sealed bytes of the fact
//   trace.bin    the encoded trace as it lay in its file; absent when the record has none
//
// Big-endian.  The reader recomputes leaf and head, and the hash of the trace.

#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "schema/store.h"

namespace endgate::schema {

struct CopiedRecord {
  std::string store_id;  // 32 hex digits
  StoredRecord stored;
  std::optional<Trace> trace;
};

[[nodiscard]] bool holds_copied_record(const std::filesystem::path& folder);

// StoreFault::io when it is not there, ::damaged when it is not what was sealed.
[[nodiscard]] CopiedRecord read_copied_record(const std::filesystem::path& folder);

}  // namespace endgate::schema

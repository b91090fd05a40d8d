// How is the whole context of a test kept inside its record, and how does it come back?
//
// Complete: replay needs no definition file.  Canonical bytes of kind 100 (schema/README.md).

#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "analysis/context.h"

namespace endgate::daemon {

[[nodiscard]] std::vector<std::uint8_t> context_bytes(const analysis::Context& context);

// StoreFault::damaged or ::wrong_version when the bytes are not a context this version reads.
[[nodiscard]] analysis::Context context_from(std::span<const std::uint8_t> bytes);

// "bench north@1", "calibration north@2", ...: every accepted text the context rests on, each once.
[[nodiscard]] std::vector<std::string> context_ids(const analysis::Context& context);

}  // namespace endgate::daemon

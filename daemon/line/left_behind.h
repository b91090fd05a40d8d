// Which unit did the end of the service leave on a bench in the middle of its test?

#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

#include "daemon/line/line_state.h"

namespace endgate::daemon {

struct LeftBehind {
  std::string serial{}, model{}, batch{}, purpose{}, retest_reason{};
  std::int64_t attempt = 0;
  LineResult result{};  // void
};

// The newest test of the bench, when the end of the service broke it off: nobody has tested a unit
// there since.  Reads the store.  Throws schema::StoreFault.
[[nodiscard]] std::optional<LeftBehind> left_behind_on(const std::filesystem::path& store_folder,
                                                       const std::string& bench);

}  // namespace endgate::daemon

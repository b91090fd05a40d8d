// Is a whole request head in these bytes, and is it one that only one reading is possible of?
//
// Looks at the raw bytes before any parser does, because a parser joins or skips what two programs
// in a row may read differently: a bare LF or CR, a folded line, a control character.

#pragma once

#include <cstddef>
#include <string_view>

namespace endgate::daemon {

inline constexpr std::size_t kHeadLimit = 8192;    // bytes up to and with the empty line
inline constexpr std::size_t kTargetLimit = 2048;  // bytes

struct HeadScan {
  enum class State { incomplete, complete, refused } state = State::incomplete;
  std::size_t length = 0;       // complete: of the head
  int status = 400;             // refused
  std::string_view sentence{};  // refused: what is wrong, what to do
};

[[nodiscard]] HeadScan scan_head(std::string_view bytes);

}  // namespace endgate::daemon

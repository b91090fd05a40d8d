// The lab's pages: units side by side, and one unit as it runs.

#pragma once

#include "daemon/queries/endurance_told.h"
#include "daemon/queries/side_by_side.h"
#include "reports/answer_page.h"

namespace endgate::daemon {

inline constexpr const char* kCompareAddress = "/compare";
inline constexpr const char* kEnduranceAddress = "/endurance";

// "A, B C/2" -> A, B, C/2
[[nodiscard]] std::vector<std::string> units_named(const std::string& text);

// Rows of one metric each: value ± U of every unit, in brackets its difference to the first.
[[nodiscard]] reports::WordTable beside_table(const SideBySide& told);

[[nodiscard]] reports::AnswerPage compare_page(const SideBySide& told, const std::string& named);

struct EnduranceAsked {
  std::string serial{}, metric = "fad_400";
  std::string over{};  // bench (also when empty) or days
};
[[nodiscard]] reports::QuestionForm endurance_form(const EnduranceAsked& asked);
[[nodiscard]] reports::AnswerPage endurance_page(const EnduranceTold& told,
                                                 const EnduranceAsked& asked);

}  // namespace endgate::daemon

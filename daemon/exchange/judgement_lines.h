// How do judgements of two builds meet?  As JSON Lines that each build writes of the same tests.
//
//   line 1   {"judged_by": program, "store": id, "limits": "of each test" or the draft's name}
//   others   one test each, positions ascending: position, serial, attempt, model, bench, `kept`
//            and `now`, each with verdict, reason, metrics (id: value and u in SI, null when
//            missing) and parts (name: digest); instead of `now`, `not_judged` says why
//
// Every number reads back as the same double.

#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "daemon/queries/judgement.h"

namespace endgate::daemon {

struct JudgedBy {
  std::string program{};  // "endgate 0.1.0"
  std::string store{};    // its id, 32 hex digits
  std::string limits{};   // kLimitsOfThen, or the name of a draft
};
inline constexpr const char* kLimitsOfThen = "of each test";

[[nodiscard]] std::string line_of(const JudgedBy& by);  // without a line break
[[nodiscard]] std::string line_of(const JudgedTest& test);

// Nothing when the line is not what line_of writes.
[[nodiscard]] std::optional<JudgedBy> judged_by_in(std::string_view line);
[[nodiscard]] std::optional<JudgedTest> judged_test_in(std::string_view line);

}  // namespace endgate::daemon

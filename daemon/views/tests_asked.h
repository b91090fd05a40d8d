// Which tests does a person ask about in a form or an address, and can that be asked?

#pragma once

#include <string>
#include <vector>

#include "daemon/queries/trend_columns.h"
#include "reports/form.h"

namespace endgate::daemon {

inline constexpr const char* kAllPurposes = "all";

// As written in the address.
struct TestsAsked {
  std::string model{}, metric{};       // no metric: the question is not about one
  std::string bench{}, batch{};        // empty: all
  std::string purpose = "production";  // or kAllPurposes
  std::string since{};                 // "2026-02-14", a day on the plant's clock; empty: all
  std::string until{};                 // the last day
  std::string lot{};                   // "R-118" of any part, or "reed=R-118"; empty: all
};

struct TestsKnown {
  std::vector<std::string> models{}, benches{};
};

struct WrongQuestion {
  int status = 400;  // 404: a name that does not exist
  std::string sentence{};
};
// Nothing: it can be asked.
[[nodiscard]] std::optional<WrongQuestion> wrong_with(const TestsAsked& asked,
                                                      const TestsKnown& known);

// Of a question that can be asked.
[[nodiscard]] TrendFilter filter_of(const TestsAsked& asked);

[[nodiscard]] std::vector<reports::FormField> fields_of(const TestsAsked& asked,
                                                        const TestsKnown& known);
[[nodiscard]] reports::FormField metric_field(const std::string& metric);

// "/trends?model=...&metric=..." with everything that was asked for.
[[nodiscard]] std::string address_of(const std::string& page, const TestsAsked& asked);

// "purpose production, bench north, since 2026-02-14"
[[nodiscard]] std::string words_of(const TestsAsked& asked);

}  // namespace endgate::daemon

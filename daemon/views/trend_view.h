// One metric over batches or single tests in the words of its page.

#pragma once

#include <string>
#include <vector>

#include "daemon/queries/batch_charts.h"
#include "daemon/queries/tests_shown.h"
#include "daemon/queries/together_told.h"
#include "daemon/views/tests_asked.h"
#include "reports/trend_page.h"

namespace endgate::daemon {

inline constexpr const char* kTrendAddress = "/trends";

// `by`: "batch" or "unit".
[[nodiscard]] reports::QuestionForm trend_form(const TestsAsked& asked, const TestsKnown& known,
                                               const std::string& by,
                                               const std::string& together = "");

struct TrendContext {
  TestsAsked asked{};
  TestsKnown known{};
  std::optional<HeldLast> limit{};
  std::string together_words{};            // as asked: names of metrics, or kCurve
  std::optional<TogetherTold> together{};  // by batch
  std::optional<ControlVersion>
      frozen{};  // by unit: the newest limits, whose span single units hold
};

// Single tests with their U.
[[nodiscard]] reports::TrendPage unit_trend_page(const TrendContext& context,
                                                 const TestsShown& shown);

// Batches: what is said, each on each bench, and their charts.
[[nodiscard]] reports::TrendPage batch_trend_page(const TrendContext& context,
                                                  const TrendTold& told,
                                                  const BatchesByBench& by_bench);

}  // namespace endgate::daemon

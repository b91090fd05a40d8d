#include "daemon/queries/what_if.h"

#include <algorithm>
#include <cmath>

#include "analysis/distributions.h"
#include "analysis/grade_limit.h"
#include "daemon/queries/first_tests.h"

namespace endgate::daemon {
namespace {

using schema::TrendLimit;
using schema::TrendMetric;
using schema::TrendTest;

// The bands were factors of u then; they are the same factors now.
analysis::Limit draft_limit(const DraftLimit& draft, const std::optional<TrendLimit>& was,
                            const analysis::Metric& metric) {
  analysis::Limit limit;
  limit.metric = draft.metric;
  limit.lower = draft.lower;
  limit.upper = draft.upper;
  if (!was) {
    limit.pass_factor = limit.fail_factor = kUsualGuard;
  } else if (was->pass_band == 0 && was->fail_band == 0) {
    limit.guard = analysis::GuardRule::none;
  } else if (metric.u && *metric.u > 0) {
    limit.pass_factor = was->pass_band / *metric.u;
    limit.fail_factor = was->fail_band / *metric.u;
  }
  return limit;
}

// Fail before undecided before pass, as a test is graded.
std::string_view worse(std::string_view one, std::string_view other) {
  for (const std::string_view verdict : {"fail", "undecided"})
    if (one == verdict || other == verdict) return verdict;
  return "pass";
}

// Chance that a second measurement of the unit lies inside its acceptance limits.
double chance_inside(const analysis::Metric& metric, const analysis::Limit& limit, double band) {
  if (!metric.value || !metric.u || !(*metric.u > 0)) return 0;
  const double y = *metric.value, u = *metric.u;
  double chance = 1;
  if (limit.lower) chance -= analysis::normal_cdf((*limit.lower + band - y) / u);
  if (limit.upper) chance -= analysis::normal_cdf((y - *limit.upper + band) / u);
  return std::max(0.0, chance);
}

void add_unit(WhatIf& answer, const TrendTest& test, const TrendMetric& found,
              const DraftLimit& draft) {
  analysis::Metric metric;
  metric.id = draft.metric;
  metric.value = found.value;
  metric.u = found.u;
  const analysis::Limit limit = draft_limit(draft, found.limit, metric);
  const analysis::LimitOutcome outcome = analysis::hold_without_words(metric, limit).outcome;
  const std::string_view elsewhere = found.limit ? found.limit->elsewhere : test.verdict;
  const std::string_view before =
      found.limit ? worse(found.limit->outcome, elsewhere) : test.verdict;
  const std::string_view after = worse(analysis::word_of(outcome.verdict), elsewhere);
  ++answer.changed.of;
  answer.without_limit += found.limit ? 0 : 1;
  answer.pass_before.of = answer.pass_after.of = answer.changed.of;
  answer.pass_before.count += before == "pass" ? 1 : 0;
  answer.pass_after.count += after == "pass" ? 1 : 0;
  const double inside = chance_inside(metric, limit, outcome.pass_band);
  answer.expected_pass += inside;
  answer.expected_pass_u += inside * (1 - inside);
  if (before == after) return;
  ++answer.changed.count;
  ++answer.from_to[{std::string(before), std::string(after)}];
  answer.serials.emplace_back(test.serial);
}

}  // namespace

std::optional<WhatIf> what_if(const schema::StoreReader& store, const TrendFilter& filter,
                              const DraftLimit& draft) {
  WhatIf answer;
  for_each_first_test(store, filter, draft.metric,
                      [&](const TrendTest& test, const TrendMetric& found) {
                        if (found.limit || found.value) add_unit(answer, test, found, draft);
                      });
  if (answer.changed.of == 0) return std::nullopt;
  answer.expected_pass_u = std::sqrt(answer.expected_pass_u);
  return answer;
}

}  // namespace endgate::daemon

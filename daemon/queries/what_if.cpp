#include "daemon/queries/what_if.h"

#include <algorithm>
#include <cmath>

#include "analysis/distributions.h"
#include "analysis/grade.h"

namespace endgate::daemon {
namespace {

using schema::LimitAsWas;

const LimitAsWas* limit_in(const schema::Record& record, const std::string& metric) {
  for (const LimitAsWas& limit : record.limits)
    if (limit.metric == metric && !limit.warn) return &limit;
  return nullptr;
}

analysis::Metric metric_in(const schema::Record& record, const std::string& id) {
  analysis::Metric metric;
  metric.id = id;
  for (const schema::MetricValue& value : record.metrics)
    if (value.id == id) metric.value = value.value, metric.u = value.u;
  return metric;
}

// The bands were factors of u then; they are the same factors now.
analysis::Limit draft_limit(const DraftLimit& draft, const LimitAsWas& was,
                            const analysis::Metric& metric) {
  analysis::Limit limit;
  limit.metric = draft.metric;
  limit.lower = draft.lower;
  limit.upper = draft.upper;
  if (was.pass_band == 0 && was.fail_band == 0) {
    limit.guard = analysis::GuardRule::none;
  } else if (metric.u && *metric.u > 0) {
    limit.pass_factor = was.pass_band / *metric.u;
    limit.fail_factor = was.fail_band / *metric.u;
  }
  return limit;
}

// Fail before undecided before pass, as a test is graded.
std::string verdict_of(const schema::Record& record, const std::string& metric,
                       const std::string& outcome) {
  bool fail = outcome == "fail", undecided = outcome == "undecided";
  for (const LimitAsWas& limit : record.limits) {
    if (limit.warn || limit.metric == metric) continue;
    fail = fail || limit.outcome == "fail";
    undecided = undecided || limit.outcome == "undecided";
  }
  return fail ? "fail" : undecided ? "undecided" : "pass";
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

void add_unit(WhatIf& answer, const schema::Record& record, const LimitAsWas& was,
              const DraftLimit& draft) {
  const analysis::Metric metric = metric_in(record, draft.metric);
  const analysis::Limit limit = draft_limit(draft, was, metric);
  const analysis::LimitOutcome outcome = analysis::hold_against(metric, limit);
  const std::string before = verdict_of(record, draft.metric, was.outcome);
  const std::string after = verdict_of(record, draft.metric, analysis::word_of(outcome.verdict));
  ++answer.changed.of;
  answer.pass_before.of = answer.pass_after.of = answer.changed.of;
  answer.pass_before.count += before == "pass" ? 1 : 0;
  answer.pass_after.count += after == "pass" ? 1 : 0;
  const double inside = chance_inside(metric, limit, outcome.pass_band);
  answer.expected_pass += inside;
  answer.expected_pass_u += inside * (1 - inside);
  if (before == after) return;
  ++answer.changed.count;
  ++answer.from_to[{before, after}];
  answer.serials.push_back(record.start.serial);
}

}  // namespace

std::optional<WhatIf> what_if(const schema::StoreReader& store, const TrendFilter& filter,
                              const DraftLimit& draft) {
  WhatIf answer;
  for (const schema::StoredRecord& stored : records_of(store, filter)) {
    const schema::Record& record = stored.record;
    if (record.verdict == "void" || record.start.attempt != 1) continue;
    if (const LimitAsWas* was = limit_in(record, draft.metric))
      add_unit(answer, record, *was, draft);
  }
  if (answer.changed.of == 0) return std::nullopt;
  answer.expected_pass_u = std::sqrt(answer.expected_pass_u);
  return answer;
}

}  // namespace endgate::daemon

#include "daemon/mapping/replay.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "daemon/mapping/judge_again.h"
#include "daemon/mapping/rounding.h"
#include "schema/fact_fields.h"

namespace endgate::daemon {
namespace {

using schema::LimitAsWas;
using schema::MetricValue;
using schema::Record;

std::vector<std::string> unequal_parts(const Record& then, const Record& now) {
  std::vector<std::string> names;
  schema::for_each_field<Record>([&](const char* name, auto member) {
    if (schema::bytes_of(then.*member) != schema::bytes_of(now.*member)) names.emplace_back(name);
  });
  return names;
}

std::string number(const std::optional<double>& value) {
  if (!value) return "missing";
  char text[40];
  std::snprintf(text, sizeof text, "%.17g", *value);
  return text;
}

template <class Part, class Key>
const Part* find(const std::vector<Part>& parts, Key Part::*key, const Key& wanted) {
  const auto found = std::ranges::find(parts, wanted, key);
  return found == parts.end() ? nullptr : &*found;
}

void compare_metrics(const Record& then, const Record& now, std::vector<std::string>& lines) {
  for (const MetricValue& was : then.metrics) {
    const MetricValue* is = find(now.metrics, &MetricValue::id, was.id);
    if (!is) {
      lines.push_back(was.id + ": no longer evaluated");
      continue;
    }
    if (!same_value(was, *is))
      lines.push_back(was.id + ": was " + number(was.value) + ", is " + number(is->value));
    if (!same_u(was, *is))
      lines.push_back(was.id + ".u: was " + number(was.u) + ", is " + number(is->u));
  }
  for (const MetricValue& is : now.metrics)
    if (!find(then.metrics, &MetricValue::id, is.id))
      lines.push_back(is.id + ": was not evaluated");
}

// Where the outcome of this limit changes.
std::vector<double> acceptance_limits(const LimitAsWas& limit) {
  std::vector<double> at;
  if (limit.lower)
    at.insert(at.end(), {*limit.lower + limit.pass_band, *limit.lower - limit.fail_band});
  if (limit.upper)
    at.insert(at.end(), {*limit.upper - limit.pass_band, *limit.upper + limit.fail_band});
  return at;
}

bool at_an_acceptance_limit(const Record& then, const LimitAsWas& limit) {
  const MetricValue* metric = find(then.metrics, &MetricValue::id, limit.metric);
  const MetricValue held =
      metric ? *metric : MetricValue{.id = limit.metric, .value = limit.value, .u = limit.u};
  if (!held.value) return false;
  return std::ranges::any_of(acceptance_limits(limit), [&](double at) {
    return std::abs(*held.value - at) <= rounding_of(held);
  });
}

// True when each limit with another outcome has its metric that close to an acceptance limit.
bool verdict_may_differ(const Record& then, const Record& now) {
  bool any = false;
  for (const LimitAsWas& was : then.limits) {
    const LimitAsWas* is = find(now.limits, &LimitAsWas::metric, was.metric);
    if (is && is->outcome == was.outcome) continue;
    if (!is || !at_an_acceptance_limit(then, was)) return false;
    any = true;
  }
  return any;
}

std::vector<std::string> differences(const Record& then, const Record& now) {
  std::vector<std::string> lines;
  compare_metrics(then, now, lines);
  if (then.verdict != now.verdict && !verdict_may_differ(then, now))
    lines.push_back("verdict: was " + then.verdict + ", is " + now.verdict);
  return lines;
}

}  // namespace

ReplayResult replay(const schema::Record& record, const schema::Trace& trace) {
  JudgedAgain again = judge_again(record, trace);
  ReplayResult result;
  result.evaluation = std::move(again.evaluation);
  result.not_equal = unequal_parts(record, again.record);
  result.bit_for_bit = result.not_equal.empty();
  result.differences = differences(record, again.record);
  return result;
}

}  // namespace endgate::daemon

#include "daemon/mapping/replay.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "analysis/evaluate.h"
#include "daemon/mapping/context_bytes.h"
#include "daemon/mapping/record_of.h"
#include "daemon/mapping/trace_of.h"
#include "schema/fact_fields.h"

namespace endgate::daemon {
namespace {

using schema::LimitAsWas;
using schema::MetricValue;
using schema::Record;
using schema::StoreFault;

void refuse_another_trace(const Record& record, const schema::Trace& trace) {
  if (!record.trace_sha256)
    throw StoreFault(StoreFault::Kind::refused,
                     "this test was broken off without a trace; there is nothing to replay");
  if (record.context_bytes.empty())
    throw StoreFault(
        StoreFault::Kind::refused,
        "the service ended during this test: pieces of its trace are kept, but nothing "
        "was judged, so there is nothing to replay");
  if (schema::hash_of(trace) != *record.trace_sha256)
    throw StoreFault(StoreFault::Kind::damaged,
                     "the trace is not the one this record has sealed; run `endgate verify`");
}

// The record as it would be made today, with everything that is not an evaluation as it was.
Record made_again(const Record& record, const analysis::RawTrace& trace,
                  const analysis::Context& context, const analysis::Evaluation& evaluation) {
  Record again = record_of({.start = record.start,
                            .start_position = record.start_position,
                            .finished = record.finished,
                            .cycle_s = record.cycle_s,
                            .software = record.software,
                            .simulated = record.simulated},
                           trace, context, evaluation, analysis::Standing{});
  again.standing = record.standing;
  again.standing_reason = record.standing_reason;
  again.trace_sha256 = record.trace_sha256;
  again.trace_file = record.trace_file;
  return again;
}

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

double tolerance(const MetricValue& then) {
  return std::max(1e-9 * std::abs(then.value.value_or(0)), 1e-6 * then.u.value_or(0));
}

bool within(const std::optional<double>& a, const std::optional<double>& b, double tolerance) {
  if (!a || !b) return a.has_value() == b.has_value();
  return std::abs(*a - *b) <= tolerance;
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
    if (!within(was.value, is->value, tolerance(was)))
      lines.push_back(was.id + ": was " + number(was.value) + ", is " + number(is->value));
    if (!within(was.u, is->u, 1e-6 * was.u.value_or(0)))
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
  if (!metric || !metric->value) return false;
  return std::ranges::any_of(acceptance_limits(limit), [&](double at) {
    return std::abs(*metric->value - at) <= tolerance(*metric);
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
  refuse_another_trace(record, trace);
  const analysis::Context context = context_from(record.context_bytes);
  const analysis::RawTrace raw = raw_trace_of(trace);
  ReplayResult result;
  result.evaluation = analysis::evaluate(raw, context);
  const Record now = made_again(record, raw, context, result.evaluation);
  result.not_equal = unequal_parts(record, now);
  result.bit_for_bit = result.not_equal.empty();
  result.differences = differences(record, now);
  return result;
}

}  // namespace endgate::daemon

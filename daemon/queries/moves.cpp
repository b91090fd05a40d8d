#include "daemon/queries/moves.h"

#include <algorithm>
#include <cmath>

#include "daemon/mapping/rounding.h"

namespace endgate::daemon {
namespace {

using schema::MetricValue;

const MetricValue* metric_in(const Judgement& judgement, const std::string& id) {
  const auto found = std::ranges::find(judgement.metrics, id, &MetricValue::id);
  return found == judgement.metrics.end() ? nullptr : &*found;
}

void add_move_in_u(MetricMoves& moves, double in_u, const std::string& test) {
  moves.sum_u += in_u;
  if (std::abs(in_u) <= std::abs(moves.largest_u)) return;
  moves.largest_u = in_u;
  moves.largest_of = test;
}

bool add_value(MetricMoves& moves, const MetricValue& was, const MetricValue& is,
               const std::string& test) {
  if (same_value(was, is)) return false;
  ++moves.moved;
  if (was.u && *was.u > 0)
    add_move_in_u(moves, (*is.value - *was.value) / *was.u, test);
  else
    ++moves.without_u;
  return true;
}

bool add_u(MetricMoves& moves, const MetricValue& was, const MetricValue& is) {
  if (same_u(was, is)) return false;
  ++moves.u_moved;
  if (!was.u || !is.u || !(*was.u > 0) || !(*is.u > 0)) return true;
  const double ratio = *is.u / *was.u;
  if (std::abs(std::log(ratio)) > std::abs(std::log(moves.largest_u_ratio)))
    moves.largest_u_ratio = ratio;
  return true;
}

bool add_metric(MetricMoves& moves, const MetricValue& was, const MetricValue& is,
                const std::string& test) {
  if (was.value && is.value) {
    ++moves.tests;
    const bool value = add_value(moves, was, is, test);
    return add_u(moves, was, is) || value;
  }
  if (was.value) ++moves.vanished;
  if (is.value) ++moves.appeared;
  return was.value || is.value;
}

}  // namespace

double MetricMoves::mean_u() const {
  const std::int64_t told = moved - without_u;
  return told > 0 ? sum_u / static_cast<double>(told) : 0;
}

TestMoves Moves::add(const std::string& test, const Judgement& before, const Judgement& after) {
  TestMoves moved;
  ++tests_;
  ++verdict_table_[{before.verdict, after.verdict}];
  moved.verdict = before.verdict != after.verdict;
  moved.numbers = add_metrics(test, before, after);
  moved.equal = add_parts(before, after);
  verdicts_ += moved.verdict ? 1 : 0;
  numbers_ += moved.numbers;
  tests_with_numbers_ += moved.numbers > 0 ? 1 : 0;
  equal_ += moved.equal ? 1 : 0;
  return moved;
}

// A metric that only one side knows counts as one without a value on the other.
int Moves::add_metrics(const std::string& test, const Judgement& before, const Judgement& after) {
  int numbers = 0;
  const MetricValue none;
  for (const MetricValue& was : before.metrics) {
    const MetricValue* is = metric_in(after, was.id);
    numbers += add_metric(metrics_[was.id], was, is != nullptr ? *is : none, test) ? 1 : 0;
  }
  for (const MetricValue& is : after.metrics)
    if (metric_in(before, is.id) == nullptr)
      numbers += add_metric(metrics_[is.id], none, is, test) ? 1 : 0;
  return numbers;
}

// True when every part is equal.
bool Moves::add_parts(const Judgement& before, const Judgement& after) {
  std::map<std::string, std::string> rest(after.parts.begin(), after.parts.end());
  bool equal = true;
  const auto differs = [&](const std::string& name) {
    ++parts_[name];
    equal = false;
  };
  for (const auto& [name, digest] : before.parts) {
    const auto same = rest.find(name);
    if (same == rest.end() || same->second != digest) differs(name);
    if (same != rest.end()) rest.erase(same);
  }
  for (const auto& [name, digest] : rest) differs(name);
  return equal;
}

std::string name_of(const JudgedTest& test) {
  return test.serial + " attempt " + std::to_string(test.attempt);
}

}  // namespace endgate::daemon

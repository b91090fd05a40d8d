#include <algorithm>
#include <cmath>
#include <span>

#include "analysis/metric_facts.h"
#include "analysis/say_number.h"
#include "daemon/line/control_history.h"
#include "daemon/queries/in_batches.h"

namespace endgate::daemon {
namespace {

using BatchPoints = std::vector<BatchPoint>;
using statistics::BatchMoments;

constexpr std::size_t kNamed = 6;
constexpr const char* kNothing = " Nothing was frozen.";

std::string list_of(const std::vector<std::string>& names) {
  std::string list;
  for (std::size_t i = 0; i < std::min(kNamed, names.size()); ++i)
    list += (i == 0 ? "" : ", ") + names[i];
  if (names.size() > kNamed) list += " and " + std::to_string(names.size() - kNamed) + " more";
  return list;
}

std::string not_there(const std::string& batch, const FreezeAsked& asked, const BatchPoints& all) {
  std::vector<std::string> names;
  for (const BatchPoint& point : all) names.push_back(point.batch);
  std::string sentence = batch.empty() ? "Name the first batch and the last one."
                                       : "No test of " + asked.tests.model + " with " +
                                             asked.metric + " is of batch " + batch + ".";
  if (!names.empty())
    sentence += " There are batches from " + names.front() + " to " + names.back() + ".";
  return sentence + kNothing;
}

// The batches of the span, without those left out; or which name is wrong.
std::variant<BatchPoints, std::string> points_in_span(const BatchPoints& all,
                                                      const FreezeAsked& asked) {
  const auto first = std::ranges::find(all, asked.first_batch, &BatchPoint::batch);
  const auto last = std::ranges::find(all, asked.last_batch, &BatchPoint::batch);
  if (first == all.end()) return not_there(asked.first_batch, asked, all);
  if (last == all.end()) return not_there(asked.last_batch, asked, all);
  if (last < first)
    return "Batch " + asked.last_batch + " was begun before batch " + asked.first_batch +
           ". Turn the two round." + kNothing;
  const std::span span(first, last + 1);
  for (const std::string& name : asked.left_out)
    if (std::ranges::find(span, name, &BatchPoint::batch) == span.end())
      return "Batch " + name + " is to be left out and is not in the span." + kNothing;
  BatchPoints points;
  for (const BatchPoint& point : span)
    if (std::ranges::find(asked.left_out, point.batch) == asked.left_out.end())
      points.push_back(point);
  return points;
}

std::optional<std::string> too_few(const BatchPoints& points) {
  constexpr std::size_t kFewest = statistics::kFewestControlBatches;
  if (points.size() < kFewest)
    return "Control limits need at least " + std::to_string(kFewest) +
           " batches to know by how much batches differ anyway; this span has " +
           std::to_string(points.size()) + ". Choose a longer span, or wait for " +
           std::to_string(kFewest - points.size()) + " more." + kNothing;
  double repeats = 0;
  for (const BatchPoint& point : points) repeats += point.n - 1;
  if (repeats < static_cast<double>(kFewest))
    return "Control limits need batches of several units to know the scatter inside a batch; on "
           "average these have fewer than two. Choose another span." +
           std::string(kNothing);
  return std::nullopt;
}

std::vector<BatchMoments> moments_of(const BatchPoints& points) {
  std::vector<BatchMoments> moments;
  for (const BatchPoint& point : points) moments.push_back({point.n, point.mean, point.sigma});
  return moments;
}

// Limits from a span that holds something unusual would call it usual ever after.
std::optional<std::string> unlike_the_others(const BatchPoints& points,
                                             const statistics::ControlLimits& limits) {
  std::vector<std::string> names;
  for (const BatchPoint& point : points)
    if (std::abs(point.mean - limits.centre) > statistics::kOutside * limits.sigma_of_mean(point.n))
      names.push_back(point.batch);
  if (names.empty()) return std::nullopt;
  return "Not like the others, even by the limits that they widen themselves: batch " +
         list_of(names) +
         ". Leave out with --leave-out what has a known cause, or choose another "
         "span." +
         kNothing;
}

ControlSpan span_of(const BatchPoints& points, const FreezeAsked& asked) {
  ControlSpan span{.first_batch = asked.first_batch,
                   .last_batch = asked.last_batch,
                   .first_position = points.front().first_position,
                   .batches = static_cast<std::int64_t>(points.size()),
                   .left_out = asked.left_out};
  for (const BatchPoint& point : points) {
    span.tests += static_cast<std::int64_t>(point.n);
    span.first_position = std::min(span.first_position, point.first_position);
    span.last_position = std::max(span.last_position, point.last_position);
  }
  return span;
}

// The first limits judge what came after their span; later ones only what comes after them, so
// that what was judged stays judged as it was.
schema::Position judges_behind(const schema::StoreReader& store, const FreezeAsked& asked,
                               const ControlSpan& span, schema::Position newest) {
  return control_versions(store, asked.tests, asked.metric).empty() ? span.last_position : newest;
}

}  // namespace

Frozen freeze_control(const schema::StoreReader& store, const FreezeAsked& asked) {
  const statistics::TestColumns columns =
      in_batches(columns_of(store, asked.tests, asked.metric)).read.columns;
  const auto found = points_in_span(batch_points(columns), asked);
  if (const auto* wrong = std::get_if<std::string>(&found)) return *wrong;
  const auto& points = std::get<BatchPoints>(found);
  if (auto wrong = too_few(points)) return *wrong;
  const auto limits = statistics::control_limits_of(moments_of(points));
  if (!limits)
    return "All of these tests have the same value: no scatter, no limits." + std::string(kNothing);
  if (auto wrong = unlike_the_others(points, *limits)) return *wrong;
  ControlFacts facts{.model = asked.tests.model,
                     .metric = asked.metric,
                     .bench = asked.tests.bench,
                     .purpose = asked.tests.purpose,
                     .limits = *limits,
                     .rules = asked.rules,
                     .run_length = promised_run_length(*limits, asked.rules),
                     .from = span_of(points, asked)};
  facts.behind_position = judges_behind(store, asked, facts.from, columns.position.back());
  return facts;
}

}  // namespace endgate::daemon

#include "analysis/grade_limit.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>
#include <vector>

#include "analysis/grade_sentence.h"
#include "analysis/limit_subject.h"
#include "analysis/reason_codes.h"

namespace endgate::analysis {
namespace {

bool known(const std::optional<double>& number) { return number && std::isfinite(*number); }

struct Bands {
  double pass = 0;  // w
  double fail = 0;  // w'
};

Bands bands_of(const Limit& limit, double u) {
  if (limit.guard == GuardRule::none) return {};
  Bands bands{limit.pass_factor * u, limit.fail_factor * u};
  if (bands.pass + bands.fail < 0) bands.fail = -bands.pass;  // G-3: both bounds become T + w
  return bands;
}

bool has_room(const Limit& limit, const Bands& bands) {
  return !limit.lower || !limit.upper || *limit.lower + bands.pass < *limit.upper - bands.pass;
}

bool kept(const Limit& limit, const Bands& bands, double y) {
  return (!limit.lower || y >= *limit.lower + bands.pass) &&
         (!limit.upper || y <= *limit.upper - bands.pass);
}

struct BandVerdict {
  Verdict verdict;
  std::string_view code;
};

BandVerdict decide(const Limit& limit, const Bands& bands, double y) {
  if (limit.lower && y < *limit.lower - bands.fail) return {Verdict::fail, reason::below_lower};
  if (limit.upper && y > *limit.upper + bands.fail) return {Verdict::fail, reason::above_upper};
  if (!has_room(limit, bands)) return {Verdict::undecided, reason::no_room};
  if (kept(limit, bands, y)) return {Verdict::pass, reason::within_limits};
  return {Verdict::undecided, reason::too_near_limit};
}

std::optional<double> margin_of(const Limit& limit, double y) {
  std::optional<double> margin;
  if (limit.lower) margin = y - *limit.lower;
  if (limit.upper) margin = std::min(margin.value_or(*limit.upper - y), *limit.upper - y);
  return margin;
}

double nearness(const std::optional<double>& margin, const std::optional<double>& u) {
  if (!margin) return std::numeric_limits<double>::infinity();
  return *margin / std::max(u.value_or(0), std::numeric_limits<double>::min());
}

HeldLimit blank(const Metric& metric, const Limit& limit) {
  HeldLimit held;
  held.outcome.metric = metric.id;
  held.outcome.warn = limit.severity == Severity::warn;
  held.outcome.lower = limit.lower;
  held.outcome.upper = limit.upper;
  return held;
}

void decide_known(const Metric& metric, const Limit& limit, HeldLimit& held) {
  const Bands bands = bands_of(limit, metric.u.value_or(0));
  const BandVerdict decision = decide(limit, bands, *metric.value);
  held.outcome.verdict = decision.verdict;
  held.code = decision.code;
  held.outcome.pass_band = bands.pass;
  held.outcome.fail_band = bands.fail;
  held.outcome.margin = margin_of(limit, *metric.value);
  held.margin_in_u = nearness(held.outcome.margin, metric.u);
}

int rank_of_outcome(Verdict verdict) {
  return verdict == Verdict::fail ? 0 : verdict == Verdict::undecided ? 1 : 2;
}

bool is_worse(const HeldLimit& one, const HeldLimit& other) {
  const int a = rank_of_outcome(one.outcome.verdict), b = rank_of_outcome(other.outcome.verdict);
  return a != b ? a < b : one.margin_in_u < other.margin_in_u;
}

HeldLimit at_point(const Limit& limit, const BandPoint& point, const Metric& flow) {
  Limit here = limit;
  here.lower = point.lower;
  here.upper = point.upper;
  HeldLimit held = hold(flow, here);
  held.outcome.metric = limit.metric;
  held.outcome.value = flow.value;
  held.outcome.u = flow.u;
  held.outcome.gauge_pa = point.gauge_pa;
  return held;
}

}  // namespace

HeldLimit hold_without_words(const Metric& metric, const Limit& limit) {
  HeldLimit held = blank(metric, limit);
  const bool has_u = known(metric.u) && *metric.u >= 0;
  if (!known(metric.value))
    held.code = reason::metric_missing;
  else if (!has_u && limit.guard != GuardRule::none)
    held.code = reason::no_uncertainty;
  else
    decide_known(metric, limit, held);
  return held;
}

HeldLimit hold_band(const Limit& limit, std::span<const Metric> points) {
  std::optional<HeldLimit> worst;
  std::vector<BandOutcome> band;
  for (std::size_t i = 0; i < limit.points.size() && i < points.size(); ++i) {
    const BandPoint& point = limit.points[i];
    HeldLimit here = at_point(limit, point, points[i]);
    band.push_back({point.gauge_pa, point.lower, point.upper, points[i].value, points[i].u,
                    here.outcome.verdict});
    if (!worst || is_worse(here, *worst)) worst = std::move(here);
  }
  if (!worst) {  // a band without points
    Metric nothing;
    nothing.id = limit.metric;
    return hold(nothing, limit);
  }
  worst->outcome.band = std::move(band);
  return *std::move(worst);
}

HeldLimit hold(const Limit& limit, std::span<const Metric> metrics,
               std::span<const DrawnPoint> drawn) {
  if (limit.metric == kCurveSubject) {
    std::vector<Metric> points;
    for (const BandPoint& point : limit.points) points.push_back(drawn_at(drawn, point.gauge_pa));
    return hold_band(limit, points);
  }
  const Metric metric = held_metric(limit, metrics);
  HeldLimit held = hold(metric, limit);
  if (is_one_metric(limit.metric)) return held;
  held.outcome.value = metric.value;
  held.outcome.u = metric.u;
  return held;
}

HeldLimit hold(const Metric& metric, const Limit& limit) {
  HeldLimit held = hold_without_words(metric, limit);
  held.outcome.sentence = sentence_of(metric, held);
  return held;
}

}  // namespace endgate::analysis

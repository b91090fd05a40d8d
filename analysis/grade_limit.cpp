#include "analysis/grade_limit.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "analysis/grade_sentence.h"
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

HeldLimit hold(const Metric& metric, const Limit& limit) {
  HeldLimit held = hold_without_words(metric, limit);
  held.outcome.sentence = sentence_of(metric, held);
  return held;
}

}  // namespace endgate::analysis

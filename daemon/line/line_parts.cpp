#include "daemon/line/line_parts.h"

#include <algorithm>
#include <charconv>
#include <limits>
#include <map>

namespace endgate::daemon {
namespace {

// "fad_400" -> 400 kPa gauge; the ids are fixed for ever.
std::optional<double> fad_gauge_pa(const std::string& metric) {
  constexpr std::string_view kPrefix = "fad_";
  if (!metric.starts_with(kPrefix)) return std::nullopt;
  double kpa = 0;
  const char* const end = metric.data() + metric.size();
  const auto [read_to, error] = std::from_chars(metric.data() + kPrefix.size(), end, kpa);
  if (error != std::errc() || read_to != end) return std::nullopt;
  return 1000 * kpa;
}

// Where a limit on the metric and one on the curve meet, the narrower of each side is drawn.
void narrow(std::map<double, LimitBandPoint>& band, const analysis::BandPoint& at) {
  LimitBandPoint& point = band[at.gauge_pa];
  point.gauge_pa = at.gauge_pa;
  if (at.lower) point.lower_m3_s = std::max(point.lower_m3_s.value_or(*at.lower), *at.lower);
  if (at.upper) point.upper_m3_s = std::min(point.upper_m3_s.value_or(*at.upper), *at.upper);
}

int rank(const analysis::LimitOutcome& limit) {
  if (limit.verdict == analysis::Verdict::fail) return limit.warn ? 1 : 0;
  return limit.verdict == analysis::Verdict::undecided ? 2 : 3;
}

}  // namespace

std::vector<RailStep> rail_of(const ModelDefinition& model) {
  std::vector<RailStep> rail;
  for (const StepDefinition& step : model.sequence)
    rail.push_back({step.id, step.name, RailStep::Mark::to_come});
  return rail;
}

void mark_rail(std::vector<RailStep>& rail, std::size_t current) {
  for (std::size_t i = 0; i < rail.size(); ++i)
    rail[i].mark = i < current    ? RailStep::Mark::done
                   : i == current ? RailStep::Mark::now
                                  : RailStep::Mark::to_come;
}

void mark_rail(std::vector<RailStep>& rail, const analysis::RawTrace& trace) {
  for (RailStep& step : rail) {
    const auto ended = std::find_if(trace.steps.begin(), trace.steps.end(),
                                    [&](const auto& mark) { return mark.id == step.id; });
    if (ended == trace.steps.end())
      step.mark = RailStep::Mark::to_come;
    else
      step.mark =
          ended->end == analysis::StepEnd::complete ? RailStep::Mark::done : RailStep::Mark::broken;
  }
}

std::vector<LimitBandPoint> limit_band_of(const analysis::LimitSet& limits) {
  std::map<double, LimitBandPoint> band;
  for (const analysis::Limit& limit : limits.limits) {
    if (const std::optional<double> gauge_pa = fad_gauge_pa(limit.metric))
      narrow(band, {*gauge_pa, limit.lower, limit.upper});
    for (const analysis::BandPoint& point : limit.points) narrow(band, point);
  }
  std::vector<LimitBandPoint> points;
  for (const auto& [gauge_pa, point] : band) points.push_back(point);
  return points;
}

std::vector<analysis::LimitOutcome> by_interest(std::vector<analysis::LimitOutcome> limits,
                                                const std::vector<analysis::Metric>& metrics) {
  std::map<std::string, double> u;
  for (const analysis::Metric& metric : metrics)
    if (metric.u) u[metric.id] = *metric.u;
  const auto closeness = [&](const analysis::LimitOutcome& limit) {
    const auto found = u.find(limit.metric);
    const double own = found == u.end() ? limit.u.value_or(0) : found->second;
    if (!limit.margin || own <= 0) return std::numeric_limits<double>::infinity();
    return *limit.margin / own;
  };
  std::stable_sort(limits.begin(), limits.end(), [&](const auto& left, const auto& right) {
    if (rank(left) != rank(right)) return rank(left) < rank(right);
    return closeness(left) < closeness(right);
  });
  return limits;
}

LineResult result_of(const analysis::Evaluation& evaluation, const analysis::Standing& standing,
                     std::int64_t position, std::optional<double> cycle_s, bool kept_samples) {
  LineResult result;
  result.verdict = analysis::word_of(evaluation.grade.verdict);
  result.reasons = evaluation.grade.reasons;
  if (!result.reasons.empty()) result.sentence = result.reasons.front().sentence;
  result.limits = by_interest(evaluation.grade.limits, evaluation.metrics);
  result.metrics = evaluation.metrics;
  result.drawn = evaluation.drawn;
  result.points = evaluation.points;
  result.standing = analysis::word_of(standing.word);
  result.standing_reason = standing.reason;
  result.position = position;
  result.cycle_s = cycle_s;
  result.causes = evaluation.causes;
  result.kept_samples = kept_samples;
  result.would_have_been = evaluation.grade.would_have_been;
  return result;
}

}  // namespace endgate::daemon

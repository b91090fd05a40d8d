#include "daemon/queries/rating_told.h"

#include <algorithm>
#include <cmath>
#include <span>
#include <string_view>

#include "analysis/say_number.h"
#include "analysis/sum.h"
#include "daemon/queries/first_tests.h"

namespace endgate::daemon {
namespace {

using analysis::say_number;
using statistics::Coverage;

constexpr double kToLitres = 60000;
constexpr std::size_t kNewestForShared = 200;  // tests, of all models

std::optional<double> pressure_of_delivery(std::string_view metric) {
  return metric.starts_with("fad_") ? analysis::gauge_pa_of(metric) : std::nullopt;
}

// Holds for `parts` statements together.
Coverage split_over(const Coverage& whole, std::size_t parts) {
  const double m = static_cast<double>(parts);
  return {1 - (1 - whole.share) / m, 1 - (1 - whole.confidence) / m};
}

std::optional<double> lower_of(const RatingPoint& point, const Coverage& coverage) {
  const CapabilityTold& told = point.told;
  if (!point.by_order)
    return told.mean -
           statistics::tolerance_factor_one_sided(told.effective_n, coverage) * told.sigma_overall;
  const auto independent = static_cast<std::size_t>(told.effective_n);
  const std::size_t rank = statistics::tolerance_rank(independent, coverage);
  if (rank == 0) return std::nullopt;
  std::vector<double> values = told.values;
  std::ranges::sort(values);
  return values[rank - 1];
}

std::optional<double> median_u(const schema::StoreReader& store, const TrendFilter& filter,
                               const std::string& metric) {
  std::vector<double> u;
  for_each_first_test(store, filter, metric,
                      [&](const schema::TrendTest&, const schema::TrendMetric& found) {
                        if (found.u) u.push_back(*found.u);
                      });
  if (u.empty()) return std::nullopt;
  std::ranges::sort(u);
  return statistics::sample_quantile(u, 0.5);
}

// What the newest tests share among each other, the median; SI.
std::optional<double> shared_u_of(std::span<const schema::StoredRecord> newest,
                                  const TrendFilter& filter, const std::string& metric) {
  std::vector<double> shared;
  for (const schema::StoredRecord& stored : newest) {
    if (stored.record.start.model != filter.model || stored.record.verdict == "void") continue;
    for (const schema::MetricValue& value : stored.record.metrics)
      if (value.id == metric && value.value && !value.parts.empty())
        shared.push_back(std::sqrt(analysis::sum_over(value.parts.size(), [&](std::size_t i) {
          const bool own = value.parts[i].cause.starts_with("random");
          return own ? 0.0 : value.parts[i].u * value.parts[i].u;
        })));
  }
  if (shared.empty()) return std::nullopt;
  std::ranges::sort(shared);
  return statistics::sample_quantile(shared, 0.5);
}

std::string percent_words(double share) { return say_number(100 * share, share > 0.99 ? 1 : 0); }

std::string litres(double m3_s, int places) { return say_number(m3_s * kToLitres, places); }

std::string pressure_words(const RatingPoint& point) {
  return say_number(point.pressure_gauge_pa / 1000, 0) + "\u00A0kPa";
}

std::string share_words_of(const RatingTold& told) {
  return percent_words(told.coverage.share) + " % of units";
}

std::string confidence_words(const RatingTold& told) {
  return "confidence " + percent_words(told.coverage.confidence) + " %";
}

std::string point_words(const RatingTold& told, const RatingPoint& point) {
  const CapabilityTold& c = point.told;
  return "At " + pressure_words(point) + " gauge: mean " + litres(c.mean, 1) +
         "\u00A0L/min, standard deviation " + litres(c.sigma_overall, 2) + "; " +
         share_words_of(told) + " read at least " + promised_number(point.lower_m3_s) +
         "\u00A0L/min, over the whole curve " + promised_number(point.whole_m3_s) +
         "\u00A0L/min, to be promised " + promised_number(point.promise_m3_s()) + "\u00A0L/min; " +
         std::to_string(c.values.size()) + " units in " + std::to_string(c.batches) +
         " batches, for the bound as good as " + say_number(c.effective_n, 0) +
         (point.by_order ? "; skew: by order of the values." : ".");
}

std::string taken_off_words(const RatingTold& told) {
  std::string text;
  for (const RatingPoint& point : told.points)
    if (point.shared_u)
      text += (text.empty() ? "" : ", ") + litres(2 * *point.shared_u, 1) + " at " +
              pressure_words(point);
  if (text.empty())
    return "What all tests share of their uncertainty is not known, so nothing can be promised.";
  return "Taken off for what all tests may err by together, such as a calibration (k = 2, L/min): " +
         text + ".";
}

std::string below_words(const RatingTold& told) {
  std::string text;
  for (const RatingPoint& point : told.points)
    if (point.below_limit())
      text += (text.empty() ? "" : ", ") + promised_number(point.promise_m3_s()) + " at " +
              pressure_words(point) + " against at least " + litres(*point.told.bounds.lower, 1);
  if (text.empty()) return "";
  return "Below the lower limit in force: " + text +
         ". The sheet must say less than the limit there, unless every unit is tested and those below "
         "the limit are sorted out.";
}

}  // namespace

std::optional<double> RatingPoint::promise_m3_s() const {
  const std::optional<double> share =
      shared_u ? shared_u : test_u;  // the whole is on the safe side
  if (!whole_m3_s || !share) return std::nullopt;
  return *whole_m3_s - 2 * *share;
}

bool RatingPoint::below_limit() const {
  const auto promise = promise_m3_s();
  return promise && told.bounds.lower && *promise < *told.bounds.lower;
}

bool RatingTold::promises_less() const {
  return std::ranges::any_of(points, &RatingPoint::below_limit);
}

RatingTold rating_of(const schema::StoreReader& store, const TrendFilter& filter,
                     const Coverage& coverage) {
  RatingTold rating{.model = filter.model, .coverage = coverage};
  const std::vector<schema::StoredRecord> newest = store.latest_records(kNewestForShared);
  for (const analysis::MetricFacts& facts : analysis::kMetricFacts) {
    const auto pressure = pressure_of_delivery(facts.id);
    if (!pressure) continue;
    const std::string metric(facts.id);
    CapabilityTold told = capability_of(store, filter, metric).value();
    if (!(told.sigma_within > 0)) continue;
    rating.points.push_back({.pressure_gauge_pa = *pressure,
                             .told = std::move(told),
                             .test_u = median_u(store, filter, metric),
                             .shared_u = shared_u_of(newest, filter, metric)});
  }
  const Coverage whole = split_over(coverage, rating.points.size());
  for (RatingPoint& point : rating.points) {
    point.by_order = point.told.skew;
    point.lower_m3_s = lower_of(point, coverage);
    point.whole_m3_s = lower_of(point, whole);
  }
  return rating;
}

std::string promised_number(const std::optional<double>& m3_s) {
  if (!m3_s) return "none";
  return say_number(std::floor(*m3_s * kToLitres * 10) / 10, 1);
}

std::string rating_words(const RatingTold& told) {
  if (told.points.empty())
    return "Ten units of " + told.model + " that differ are needed before anything can be said.";
  std::string text;
  for (const RatingPoint& point : told.points)
    text += (text.empty() ? "" : ", ") + promised_number(point.promise_m3_s()) + " at " +
            pressure_words(point);
  return "A data sheet of " + told.model + " may promise at least, L/min: " + text + ".";
}

std::vector<std::string> rating_notes(const RatingTold& told) {
  if (told.points.empty()) return {};
  std::vector<std::string> notes{
      "So much or more is delivered at all pressures at once by " + share_words_of(told) + " (" +
          confidence_words(told) + "), with what all tests may err by together taken off.",
      "It holds whatever the correlation along the curve, and so is lower than need be. The bounds "
      "at one pressure hold at that pressure alone.",
      "First tests of all units, also of those that failed; free air at 100\u00A0kPa absolute and "
      "20\u00A0\u00B0C, nominal voltage, warm. It says what the process does, not what it will do "
      "after a change.",
      taken_off_words(told)};
  if (std::string below = below_words(told); !below.empty())
    notes.insert(notes.begin(), std::move(below));
  const bool none = std::ranges::any_of(
      told.points, [](const RatingPoint& point) { return !point.lower_m3_s || !point.whole_m3_s; });
  if (none)
    notes.emplace_back(
        "None: the values are skew and there are too few units to take a bound from their order.");
  for (const RatingPoint& point : told.points)
    if (!point.told.left_out.empty())
      notes.push_back("At " + pressure_words(point) + " left out as far from all others: " +
                      std::to_string(point.told.left_out.size()) + ", first " +
                      point.told.left_out.front().serial + ".");
  return notes;
}

std::vector<std::string> words_of(const RatingTold& told) {
  std::vector<std::string> words{rating_words(told)};
  for (const RatingPoint& point : told.points) words.push_back(point_words(told, point));
  for (std::string& note : rating_notes(told)) words.push_back(std::move(note));
  return words;
}

}  // namespace endgate::daemon

#include "daemon/queries/returns_told.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <set>

#include "analysis/statistics/false_discovery.h"
#include "analysis/sum.h"
#include "schema/every_entry.h"

namespace endgate::daemon {
namespace {

using schema::TrendMetric;
using schema::TrendTest;

constexpr double kMonth_ms = 365.25 / 12 * 86400e3;
constexpr double kFirstMonth = 0.5;  // what 0 months stands for
constexpr double kMonthsOff = 1.0;   // a stated time is rounded, and counted by a person

struct Born {
  std::string serial{};
  schema::Position position = 0;
  std::int64_t utc_ms = 0;
  bool back = false;
  std::optional<double> months{};  // in use, of a unit that is back
};

// In order of position, which is that of every later visit.
class Births {
 public:
  Births(const schema::StoreReader& store, const TrendFilter& filter) : matches_(store, filter) {
    for (const auto& [position, intake] : schema::every_return(store))
      first_intake_.emplace(intake.serial, position);
    for_each_test(store, {.model = filter.model, .purpose = ""}, "",
                  [&](const TrendTest& test, const TrendMetric&) { see(test); });
  }

  std::vector<Born> born{};
  std::int64_t newest_utc_ms = 0;
  std::set<std::string, std::less<>> never_passed{};  // and came back

  Born* of(std::string_view serial) {
    const auto found = by_serial_.find(serial);
    return found == by_serial_.end() || found->second == kElsewhere ? nullptr
                                                                    : &born[found->second];
  }

 private:
  static constexpr std::size_t kElsewhere = SIZE_MAX;  // born, but not as the filter asks

  void see(const TrendTest& test) {
    newest_utc_ms = std::max(newest_utc_ms, test.started_utc_ms);
    if (test.purpose == "returned") {
      if (Born* unit = of(test.serial)) unit->back = true;
      came_back_unborn(test.serial);
      return;
    }
    if (const auto intake = first_intake_.find(test.serial);
        intake != first_intake_.end() && intake->second < test.position)
      came_back_unborn(test.serial);
    if (test.verdict != "pass" || (test.purpose != "production" && test.purpose != "retest"))
      return;
    const bool asked = matches_(test);
    if (!by_serial_.emplace(test.serial, asked ? born.size() : kElsewhere).second || !asked) return;
    born.push_back({.serial = std::string(test.serial),
                    .position = test.position,
                    .utc_ms = test.started_utc_ms});
  }

  // What passes after that is a repaired unit, not one that is born.
  void came_back_unborn(std::string_view serial) {
    if (by_serial_.emplace(serial, kElsewhere).second) never_passed.emplace(serial);
  }

  TestMatch matches_;
  std::map<std::string, std::size_t, std::less<>> by_serial_{};
  std::map<std::string, schema::Position, std::less<>> first_intake_{};
};

// The first return after birth says how long the unit was in use.
void add_returns(Births& births, const schema::StoreReader& store) {
  std::map<std::string, bool, std::less<>> first;
  for (const auto& [position, intake] : schema::every_return(store)) {
    births.newest_utc_ms = std::max(births.newest_utc_ms, intake.at.utc_ms);
    Born* unit = births.of(intake.serial);
    if (unit == nullptr || position < unit->position || !first.emplace(intake.serial, true).second)
      continue;
    unit->back = true;
    unit->months = intake.months_in_use;
  }
}

// The life of a unit; nothing: it is back after nobody knows how long, or was released just now.
std::optional<statistics::Life> life_of(const Born& unit, double age_months, ReturnsTold& told) {
  ++told.back.of;
  if (!unit.back) {
    if (age_months > 0) return statistics::Life{age_months, false};
    return std::nullopt;
  }
  ++told.back.count;
  if (!unit.months) return ++told.not_stated, std::nullopt;
  if (*unit.months > age_months + kMonthsOff) return ++told.too_long, std::nullopt;
  return statistics::Life{std::max(*unit.months, kFirstMonth), true};
}

// Values of one metric at birth, beside the lives of the units that have one.
struct AtBirth {
  std::vector<statistics::Exposed> units{};
  std::vector<double> values{};
  std::map<std::string, int, std::less<>> strata{};
};

// What is compared with each other: a batch; without one, the units of a month.
std::string stratum_of(const TrendTest& test) {
  if (!test.batch.empty()) return std::string(test.batch);
  return std::to_string(std::llround(static_cast<double>(test.started_utc_ms) / kMonth_ms)) +
         " months";
}

// What each value differs from the mean of its stratum.
void take_off_means(AtBirth& found) {
  std::vector<analysis::Sum> sums(found.strata.size());
  std::vector<double> counts(found.strata.size());
  const auto at = [&](std::size_t i) { return static_cast<std::size_t>(found.units[i].stratum); };
  for (std::size_t i = 0; i < found.values.size(); ++i)
    sums[at(i)].add(found.values[i]), counts[at(i)] += 1;
  for (std::size_t i = 0; i < found.values.size(); ++i)
    found.values[i] -= sums[at(i)].value() / counts[at(i)];
}
using Lives = std::vector<std::pair<schema::Position, statistics::Life>>;  // by position of birth

AtBirth at_birth(const schema::StoreReader& store, const std::string& model,
                 const std::string& metric, const Lives& lives) {
  AtBirth found;
  auto next = lives.begin();
  for_each_test(store, {.model = model, .purpose = ""}, metric,
                [&](const TrendTest& test, const TrendMetric& measured) {
                  while (next != lives.end() && next->first < test.position) ++next;
                  if (next == lives.end() || next->first != test.position || !measured.value)
                    return;
                  const auto stratum =
                      found.strata.emplace(stratum_of(test), static_cast<int>(found.strata.size()))
                          .first->second;
                  found.units.push_back({next->second.time, next->second.returned, 0, stratum});
                  found.values.push_back(*measured.value);
                });
  take_off_means(found);
  return found;
}

void add_metrics(ReturnsTold& told, const schema::StoreReader& store, const Lives& lives) {
  std::vector<double> p;
  for (const analysis::MetricFacts& facts : analysis::kMetricFacts) {
    AtBirth found = at_birth(store, told.model, std::string(facts.id), lives);
    const std::int64_t back = statistics::returns_compared(found.units);
    told.compared = std::max(told.compared, back);
    if (back < kFewestReturns) continue;
    const std::vector<double> scores = statistics::normal_scores(found.values);
    for (std::size_t i = 0; i < scores.size(); ++i) found.units[i].x = scores[i];
    const bool scatters = std::ranges::adjacent_find(scores, std::not_equal_to()) != scores.end();
    const auto step = statistics::hazard_step(std::move(found.units));
    if (!step) {
      if (scatters) told.without_bound.push_back(&facts);
      continue;
    }
    told.metrics.push_back({.metric = &facts,
                            .units = static_cast<std::int64_t>(scores.size()),
                            .back = back,
                            .step = *step});
    p.push_back(step->p);
  }
  const std::vector<double> adjusted = statistics::adjusted_for_many(p);
  for (std::size_t i = 0; i < adjusted.size(); ++i) told.metrics[i].p_adjusted = adjusted[i];
  std::ranges::stable_sort(told.metrics, {}, [](const auto& tells) { return tells.step.p; });
  told.metrics_looked_at = static_cast<std::int64_t>(p.size());
  if (!p.empty())
    told.least_ratio = statistics::least_ratio_shown(static_cast<double>(told.compared),
                                                     kChanceTold / static_cast<double>(p.size()));
}

}  // namespace

ReturnsTold returns_of(const schema::StoreReader& store, TrendFilter filter) {
  filter.purpose.clear();
  Births births(store, filter);
  add_returns(births, store);
  ReturnsTold told{.model = filter.model,
                   .as_of_utc_ms = births.newest_utc_ms,
                   .never_passed = std::ssize(births.never_passed)};
  Lives lives;
  for (const Born& unit : births.born) {
    const double age = static_cast<double>(births.newest_utc_ms - unit.utc_ms) / kMonth_ms;
    if (const auto life = life_of(unit, age, told)) {
      lives.emplace_back(unit.position, *life);
      told.lives.push_back(*life);
      told.oldest_months = std::max(told.oldest_months, life->time);
    }
  }
  told.steps = statistics::share_still_out(told.lives);
  if (told.times_lack())
    told.no_form = "of too many returns the time in use is missing";
  else if (const auto form = statistics::fit_weibull(told.lives))
    told.form = *form;
  else
    told.no_form = form.error().detail;
  if (told.timed() >= kFewestReturns) add_metrics(told, store, lives);
  return told;
}

std::int64_t at_risk(const ReturnsTold& told, double months) {
  return std::ranges::count_if(told.lives,
                               [&](const statistics::Life& life) { return life.time >= months; });
}

statistics::ShareOut share_at(const ReturnsTold& told, double months) {
  statistics::ShareOut share;
  for (const statistics::ShareOut& step : told.steps)
    if (step.time <= months) share = step;
  return share;
}

}  // namespace endgate::daemon

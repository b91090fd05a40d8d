#include "daemon/line/limit_history.h"

#include <algorithm>

#include "analysis/grade_words.h"
#include "analysis/limit_subject.h"
#include "analysis/metric_facts.h"
#include "analysis/say_number.h"
#include "daemon/definitions/load.h"
#include "daemon/queries/csv.h"

namespace endgate::daemon {
namespace {

using analysis::Limit;

bool same(const std::vector<analysis::BandPoint>& one,
          const std::vector<analysis::BandPoint>& other) {
  return std::ranges::equal(one, other, [](const auto& a, const auto& b) {
    return a.gauge_pa == b.gauge_pa && a.lower == b.lower && a.upper == b.upper;
  });
}

bool same(const Limit& one, const Limit& other) {
  return same(one.points, other.points) && one.slope == other.slope &&
         one.intercept == other.intercept && one.lower == other.lower && one.upper == other.upper &&
         one.guard == other.guard && one.pass_factor == other.pass_factor &&
         one.fail_factor == other.fail_factor && one.severity == other.severity;
}

const Limit* held_on(const std::vector<Limit>& limits, const std::string& metric) {
  const auto found = std::ranges::find(limits, metric, &Limit::metric);
  return found == limits.end() ? nullptr : &*found;
}

LimitChange told_by(const schema::Definition& version) {
  return {.version = version.version,
          .at_utc_ms = version.at.utc_ms,
          .by = version.by,
          .second_by = version.second_by,
          .why = version.why};
}

void add_changes(std::vector<LimitChange>& changes, const schema::Definition& version,
                 const std::vector<Limit>& before, const std::vector<Limit>& now) {
  const auto add = [&](const std::string& metric, const Limit* limit) {
    changes.push_back(told_by(version));
    changes.back().metric = metric;
    if (limit != nullptr) changes.back().limit = *limit;
  };
  for (const Limit& limit : now) {
    const Limit* was = held_on(before, limit.metric);
    if (was == nullptr || !same(*was, limit)) add(limit.metric, &limit);
  }
  for (const Limit& limit : before)
    if (held_on(now, limit.metric) == nullptr) add(limit.metric, nullptr);
}

// Limits of the set, then those of its classes under the name of the class.
std::vector<Limit> all_of(const analysis::LimitSet& set) {
  std::vector<Limit> all = set.limits;
  for (const analysis::LimitClass& one : set.classes)
    for (const Limit& limit : one.limits) {
      all.push_back(limit);
      all.back().metric = "class " + one.name + ": " + limit.metric;
    }
  return all;
}

std::string number_words(double si, const analysis::SaidUnit& unit) {
  return analysis::say_number(unit.shown(si), unit.decimals);
}

std::string bound_words(const char* word, const std::optional<double>& si,
                        const analysis::SaidUnit& unit) {
  if (!si) return "";
  return std::string(word) + " " + number_words(*si, unit) + " " + std::string(unit.name) + ", ";
}

// "at 300 kPa at least 46.0 L/min, "
std::string point_words(const std::vector<analysis::BandPoint>& points,
                        const analysis::SaidUnit& unit) {
  std::string words;
  for (const analysis::BandPoint& point : points)
    words += "at " + csv_number(point.gauge_pa / 1000, 6) + " kPa " +
             bound_words("at least", point.lower, unit) + bound_words("at most", point.upper, unit);
  return words;
}

// "from the line 6.0 + 0.25 x (x: flow at 600 kPa in L/min) "
std::string line_words(const Limit& limit) {
  const auto relation = analysis::relation_in(limit.metric);
  if (!relation) return "";
  const analysis::Words y = analysis::words_of_metric(relation->metric);
  const analysis::Words x = analysis::words_of_metric(relation->against);
  return "from the line " + csv_number(limit.intercept * y.unit.factor, 4) + " + " +
         csv_number(limit.slope * y.unit.factor / x.unit.factor, 4) + " x (x: " + x.name + " in " +
         std::string(x.unit.name) + ") ";
}

std::string band_words(const Limit& limit) {
  if (limit.guard == analysis::GuardRule::none) return "no band";
  const std::string pass = csv_number(limit.pass_factor, 4),
                    fail = csv_number(limit.fail_factor, 4);
  if (pass == fail) return "band " + pass + " u";
  return "band " + pass + " u to pass, " + fail + " u to fail";
}

}  // namespace

std::vector<LimitChange> limit_history(const schema::StoreReader& store, const std::string& model) {
  std::vector<LimitChange> changes;
  std::vector<Limit> before;
  for (const schema::Definition& version : store.definitions()) {
    if (version.kind != "limits" || version.subject != model) continue;
    auto loaded = load_limits(version.text, "limits " + model);
    const auto* facts = std::get_if<LimitFacts>(&loaded);
    if (facts == nullptr) {
      changes.push_back(told_by(version));
      continue;
    }
    const std::vector<Limit> now = all_of(facts->limits);
    add_changes(changes, version, before, now);
    before = now;
  }
  return changes;
}

std::string words_of(const LimitChange& change) {
  if (change.metric.empty()) return "this text can no longer be read";
  if (!change.limit) return "no longer held";
  Limit limit = *change.limit;
  // "class A: fad_600" is about fad_600
  const std::size_t colon = change.metric.find(": ");
  limit.metric = colon == std::string::npos ? change.metric : change.metric.substr(colon + 2);
  analysis::SaidUnit unit = analysis::words_of_metric(limit.metric).unit;
  if (const auto* facts = analysis::facts_of_metric(limit.metric)) unit.name = facts->display_unit;
  return line_words(limit) + point_words(limit.points, unit) +
         bound_words("at least", limit.lower, unit) + bound_words("at most", limit.upper, unit) +
         band_words(limit) + (limit.severity == analysis::Severity::warn ? ", warns only" : "");
}

}  // namespace endgate::daemon

#include "daemon/line/limit_history.h"

#include <algorithm>

#include "analysis/metric_facts.h"
#include "analysis/say_number.h"
#include "daemon/definitions/load.h"
#include "daemon/queries/csv.h"

namespace endgate::daemon {
namespace {

using analysis::Limit;

bool same(const Limit& one, const Limit& other) {
  return one.lower == other.lower && one.upper == other.upper && one.guard == other.guard &&
         one.pass_factor == other.pass_factor && one.fail_factor == other.fail_factor &&
         one.severity == other.severity;
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

std::string bound_words(const char* word, const std::optional<double>& si,
                        const analysis::MetricFacts* facts) {
  if (!si) return "";
  if (facts == nullptr) return std::string(word) + " " + csv_number(*si, 6) + " SI, ";
  return std::string(word) + " " +
         analysis::say_number(*si * facts->factor + facts->offset, facts->decimals) + " " +
         std::string(facts->display_unit) + ", ";
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
    add_changes(changes, version, before, facts->limits.limits);
    before = facts->limits.limits;
  }
  return changes;
}

std::string words_of(const LimitChange& change) {
  if (change.metric.empty()) return "this text can no longer be read";
  if (!change.limit) return "no longer held";
  const analysis::MetricFacts* facts = analysis::facts_of_metric(change.metric);
  return bound_words("at least", change.limit->lower, facts) +
         bound_words("at most", change.limit->upper, facts) + band_words(*change.limit) +
         (change.limit->severity == analysis::Severity::warn ? ", warns only" : "");
}

}  // namespace endgate::daemon

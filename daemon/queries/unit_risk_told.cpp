#include "daemon/queries/unit_risk_told.h"

#include <algorithm>
#include <optional>

#include "analysis/limit_subject.h"
#include "analysis/metric_facts.h"
#include "analysis/say_number.h"
#include "daemon/queries/first_tests.h"

namespace endgate::daemon {
namespace {

using statistics::HeldMetric;

constexpr std::int64_t kUnitsDrawn = 200'000;

const schema::MetricValue* metric_in(const schema::Record& record, const std::string& id) {
  const auto found = std::ranges::find(record.metrics, id, &schema::MetricValue::id);
  const bool measured = found != record.metrics.end() && found->value && found->u;
  return measured ? &*found : nullptr;
}

// The reject limits of a test with the factors they had, and the parts of each uncertainty.
std::vector<HeldMetric> held_in(const schema::Record& record) {
  std::vector<HeldMetric> held;
  for (const schema::LimitAsWas& was : record.limits) {
    const schema::MetricValue* value = metric_in(record, was.metric);
    if (was.warn || value == nullptr || !(*value->u > 0)) continue;
    HeldMetric& each = held.emplace_back();
    each.limit = {.metric = was.metric, .lower = was.lower, .upper = was.upper};
    each.limit.pass_factor = was.pass_band / *value->u;
    each.limit.fail_factor = was.fail_band / *value->u;
    each.error.id = was.metric;
    each.error.u = value->u;
    for (const schema::UncertaintyPart& part : value->parts)
      each.error.parts.push_back({part.cause, part.u});
  }
  return held;
}

// On the curve and on relations: how they go together with the others is not drawn.
std::int64_t limits_on_no_metric(const schema::Record& record) {
  return std::ranges::count_if(record.limits, [](const schema::LimitAsWas& was) {
    return !was.warn && !analysis::is_one_metric(was.metric);
  });
}

Eigen::VectorXd random_u_of(const std::vector<HeldMetric>& held) {
  Eigen::VectorXd random(held.size());
  for (std::size_t i = 0; i < held.size(); ++i)
    random(static_cast<Eigen::Index>(i)) = statistics::random_u(held[i].error);
  return random;
}

// First tests of units that did not fail, newest first.
std::vector<schema::Position> healthy(const schema::StoreReader& store, const TrendFilter& filter) {
  std::vector<schema::Position> positions;
  for_each_first_test(store, filter, "",
                      [&](const schema::TrendTest& test, const schema::TrendMetric&) {
                        if (test.verdict != "fail") positions.push_back(test.position);
                      });
  std::ranges::reverse(positions);
  return positions;
}

// The held metrics of a test; nothing when it lacks one.
std::optional<std::vector<double>> row_of(const schema::Record& record,
                                          const std::vector<HeldMetric>& held) {
  std::vector<double> row;
  for (const HeldMetric& each : held) {
    const schema::MetricValue* value = metric_in(record, each.limit.metric);
    if (value == nullptr) return std::nullopt;
    row.push_back(*value->value);
  }
  return row;
}

struct Healthy {
  std::vector<HeldMetric> held{};           // in the newest test
  std::vector<std::vector<double>> rows{};  // newest first
  std::int64_t left_out = 0;                // limits of the newest test on no single metric
};

// One record is in memory at a time.
Healthy newest_healthy(const schema::StoreReader& store, const TrendFilter& filter,
                       std::size_t most) {
  Healthy found;
  std::size_t looked_at = 0;
  for (const schema::Position position : healthy(store, filter)) {
    if (found.rows.size() == most || looked_at++ == kTimesLookedAt * most) break;
    store.hold_to_deadline();
    const auto stored = store.record_at(position);
    if (!stored) continue;
    if (found.rows.empty()) {
      found.held = held_in(stored->record);
      found.left_out = limits_on_no_metric(stored->record);
    }
    if (auto row = row_of(stored->record, found.held)) found.rows.push_back(std::move(*row));
  }
  return found;
}

// Row per test, column per held metric.
Eigen::MatrixXd table_of(const Healthy& healthy) {
  Eigen::MatrixXd table(healthy.rows.size(), healthy.held.size());
  for (Eigen::Index row = 0; row < table.rows(); ++row)
    for (Eigen::Index column = 0; column < table.cols(); ++column)
      table(row, column) =
          healthy.rows[static_cast<std::size_t>(row)][static_cast<std::size_t>(column)];
  return table;
}

std::string in_a_million(double share) { return analysis::say_number(1e6 * share, -1); }

}  // namespace

UnitRiskTold unit_risk_of(const schema::StoreReader& store, const TrendFilter& filter,
                          std::size_t most) {
  UnitRiskTold told{.model = filter.model};
  const Healthy newest = newest_healthy(store, filter, most);
  const std::vector<HeldMetric>& held = newest.held;
  told.tests = newest.rows.size();
  if (told.tests < kFewestUnitsForRisk || held.empty()) return told;
  for (const HeldMetric& each : held) told.metrics.push_back(each.limit.metric);
  told.left_out = newest.left_out;
  const Eigen::MatrixXd table = table_of(newest);
  const Eigen::VectorXd mean = table.colwise().mean();
  const Eigen::MatrixXd centred = table.rowwise() - mean.transpose();
  const Eigen::MatrixXd measured =
      centred.transpose() * centred / static_cast<double>(table.rows() - 1);
  const Eigen::MatrixXd scatter = statistics::without_random_errors(measured, random_u_of(held));
  told.risk = statistics::unit_risk(held, mean, scatter, kUnitsDrawn);
  return told;
}

std::optional<double> of_good(const statistics::UnitRisk& risk, double share) {
  const double good = 1 - risk.bad;
  if (!(good > 0)) return std::nullopt;
  return share / good;
}

std::optional<double> bad_of_passed(const statistics::UnitRisk& risk) {
  if (!(risk.pass > 0)) return std::nullopt;
  return risk.bad_passed / risk.pass;
}

std::string share_drawn_words(double share) {
  constexpr double kLeastSaid = 1e-4;
  if (share < kLeastSaid) return "under 0.01\u00A0%";
  return analysis::say_number(100 * share, share < 0.1 ? 2 : 1) + "\u00A0%";
}

std::vector<std::string> words_of(const UnitRiskTold& told) {
  const statistics::UnitRisk& risk = told.risk;
  if (risk.drawn == 0)
    return {"The risk of a wrong judgement needs " + std::to_string(kFewestUnitsForRisk) +
            " first tests with every limited metric; there are " + std::to_string(told.tests) +
            "."};
  const std::optional<double> failed = of_good(risk, risk.good_failed);
  if (!failed)
    return {"Of " + analysis::say_number(static_cast<double>(risk.drawn), 0) +
            " units drawn like the production of " + told.model +
            " none keeps every limit: how often a good one is judged wrongly cannot be said. Look "
            "at the limits."};
  const auto worst = std::ranges::max_element(risk.good_held_back_alone);
  const std::string& metric =
      told.metrics[static_cast<std::size_t>(worst - risk.good_held_back_alone.begin())];
  const analysis::MetricFacts* facts = analysis::facts_of_metric(metric);
  return {"Healthy production of " + told.model + ", " + std::to_string(told.tests) +
              " first tests, held against " + std::to_string(told.metrics.size()) +
              " limits together:",
          "Of the good units " + share_drawn_words(*failed) + " fail and " +
              share_drawn_words(*of_good(risk, risk.good_undecided)) +
              " stay undecided at a first test.",
          "Of the units that pass " + in_a_million(bad_of_passed(risk).value_or(0)) +
              " in a million break a limit by a little.",
          "Most good units are held back by their " +
              std::string(facts == nullptr ? metric : facts->sentence_name) + ": " +
              share_drawn_words(*of_good(risk, *worst)) + " if it were the only limit.",
          "Drawn: " + analysis::say_number(static_cast<double>(risk.drawn), 0) +
              " units with the scatter and uncertainty of these tests. A lot gone wrong is not in "
              "these figures." +
              (told.left_out == 0 ? std::string()
                                  : " Neither are limits on the curve or on relations.")};
}

}  // namespace endgate::daemon

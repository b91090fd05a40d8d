#include "daemon/mapping/past_test.h"

#include <algorithm>

#include "daemon/mapping/context_bytes.h"
#include "daemon/mapping/evaluation_parts.h"

namespace endgate::daemon {
namespace {

analysis::PastTest past_test(const schema::Record& record) {
  analysis::PastTest test{.attempt = static_cast<int>(record.start.attempt),
                          .verdict = verdict_of(record.verdict),
                          .purpose = record.start.purpose,
                          .after_repair = false,
                          .metrics = {},
                          .deciding = record.verdict == "pass" || record.reasons.empty()
                                          ? ""
                                          : record.reasons.front().sentence};
  for (const schema::MetricValue& stored : record.metrics)
    test.metrics.push_back(metric_of(stored));
  for (const schema::DrawnPoint& stored : record.drawn) test.drawn.push_back(drawn_point(stored));
  return test;
}

bool any_between(const std::vector<schema::Position>& facts, schema::Position after,
                 schema::Position before) {
  return std::ranges::any_of(facts,
                             [&](schema::Position fact) { return fact > after && fact < before; });
}

}  // namespace

BetweenTests between_tests(const schema::StoreReader& store, const std::string& serial) {
  BetweenTests between{.repairs = store.repair_positions_of(serial), .returns = {}};
  for (const auto& intake : store.returns_of(serial)) between.returns.push_back(intake.position);
  return between;
}

std::vector<analysis::PastTest> past_tests(std::span<const schema::StoredRecord> oldest_first,
                                           const BetweenTests& between) {
  std::vector<analysis::PastTest> tests;
  schema::Position kept_before = 0;
  for (const schema::StoredRecord& stored : oldest_first) {
    const schema::Position started = stored.record.start_position;
    tests.push_back(past_test(stored.record));
    tests.back().after_repair = any_between(between.repairs, kept_before, started);
    tests.back().after_return = any_between(between.returns, kept_before, started);
    kept_before = stored.position;
  }
  return tests;
}

// Only these three words are ever kept (daemon/line/enter_unit_fact.h).
analysis::Decision decision_of(const schema::Disposition& kept) {
  using enum analysis::DecisionWord;
  return {.word = kept.decision == "scrap"        ? scrap
                  : kept.decision == "concession" ? concession
                                                  : retest,
          .reason = kept.reason,
          .by = kept.by,
          .second_by = kept.second_by};
}

const schema::Kept<schema::Disposition>* decision_that_counts(
    std::span<const schema::Kept<schema::Disposition>> oldest_first, schema::Position last_repair) {
  if (oldest_first.empty()) return nullptr;
  const schema::Kept<schema::Disposition>& newest = oldest_first.back();
  const bool counts = newest.position > last_repair || newest.fact.decision == "scrap";
  return counts ? &newest : nullptr;
}

std::optional<analysis::LimitSet> newest_limits(const std::vector<schema::StoredRecord>& tests) {
  for (auto test = tests.rbegin(); test != tests.rend(); ++test) {
    const schema::Record& record = test->record;
    if (!analysis::counts_for_standing(record.start.purpose) || record.context_bytes.empty())
      continue;
    try {
      return context_from(record.context_bytes).limits;
    } catch (const schema::StoreFault&) {
      return std::nullopt;
    }
  }
  return analysis::LimitSet{};
}

}  // namespace endgate::daemon

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
  return test;
}

}  // namespace

std::vector<analysis::PastTest> past_tests(std::span<const schema::StoredRecord> oldest_first,
                                           std::span<const schema::Position> repairs) {
  std::vector<analysis::PastTest> tests;
  schema::Position before = 0;
  for (const schema::StoredRecord& stored : oldest_first) {
    tests.push_back(past_test(stored.record));
    tests.back().after_repair = std::ranges::any_of(repairs, [&](schema::Position repair) {
      return repair > before && repair < stored.position;
    });
    before = stored.position;
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

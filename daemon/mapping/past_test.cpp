#include "daemon/mapping/past_test.h"

#include <algorithm>

#include "daemon/mapping/evaluation_parts.h"

namespace endgate::daemon {
namespace {

analysis::PastTest past_test(const schema::Record& record) {
  analysis::PastTest test{.attempt = static_cast<int>(record.start.attempt),
                          .verdict = verdict_of(record.verdict),
                          .purpose = record.start.purpose,
                          .after_repair = false,
                          .metrics = {}};
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

}  // namespace endgate::daemon

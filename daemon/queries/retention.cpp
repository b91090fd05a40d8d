#include "daemon/queries/retention.h"

#include <set>

#include "daemon/queries/against_birth.h"
#include "daemon/queries/csv.h"
#include "schema/prune_traces.h"

namespace endgate::daemon {
namespace {

constexpr std::int64_t kMsOfADay = 86'400'000;
constexpr double kDaysOfAMonth = 365.25 / 12;

class RetentionSorter {
 public:
  RetentionSorter(const schema::StoreReader& store, const RetentionRule& rule,
                  std::int64_t now_utc_ms)
      : store_(store),
        old_before_(now_utc_ms - rule.older_than_days * kMsOfADay),
        warranty_since_(now_utc_ms -
                        static_cast<std::int64_t>(static_cast<double>(rule.warranty_months) *
                                                  kDaysOfAMonth * static_cast<double>(kMsOfADay))),
        newest_file_(schema::newest_trace_file(store.folder())) {
    for (const schema::Position record : store.records_without_trace()) gone_.insert(record);
  }

  void sort(const schema::StoredRecord& test, Retention& into) const {
    const schema::TestStart& start = test.record.start;
    if (!test.record.trace_sha256) return;
    if (gone_.contains(test.position))
      ++into.gone_before;
    else if (start.at.utc_ms >= old_before_)
      ++into.too_young;
    else if (start.purpose != "production" && start.purpose != "retest")
      ++into.of_other_purpose;
    else if (start.at.utc_ms >= warranty_since_ && is_birth(test))
      ++into.under_warranty;
    else if (test.record.trace_file == newest_file_)
      ++into.in_newest_file;
    else
      into.go.push_back(test.position);
  }

 private:
  [[nodiscard]] bool is_birth(const schema::StoredRecord& test) const {
    UnitHistory unit;
    unit.tests = store_.records_of(test.record.start.serial);
    const schema::StoredRecord* birth = birth_of(unit);
    return birth != nullptr && birth->position == test.position;
  }

  const schema::StoreReader& store_;
  std::int64_t old_before_, warranty_since_;
  std::string newest_file_;
  std::set<schema::Position> gone_{};
};

}  // namespace

Retention retention_of(const schema::StoreReader& store, const RetentionRule& rule,
                       std::int64_t now_utc_ms, const std::function<void(std::int64_t)>& progress) {
  Retention sorted;
  const RetentionSorter sorter(store, rule, now_utc_ms);
  std::int64_t seen = 0;
  store.for_each_record([&](const schema::StoredRecord& test) {
    sorter.sort(test, sorted);
    if (progress) progress(++seen);
    return true;
  });
  return sorted;
}

std::string policy_words(const RetentionRule& rule, const std::string& why) {
  return "samples of production tests and retests older than " +
         std::to_string(rule.older_than_days) + " days, but for birth tests within " +
         std::to_string(rule.warranty_months) + " months: " + why;
}

std::string removed_words(const schema::TraceRemoved& removed) {
  return "Its samples were removed on " + csv_utc(removed.at.utc_ms).substr(0, 10) + " by " +
         removed.by + " (" + removed.policy + "). The numbers and the seal stay.";
}

}  // namespace endgate::daemon

#include "daemon/queries/yield_told.h"

#include <algorithm>
#include <optional>
#include <utility>

namespace endgate::daemon {
namespace {

using schema::StoredRecord;

struct Unit {
  std::vector<const StoredRecord*> tests{};  // not void, in order
};

bool passed(const StoredRecord& stored) { return stored.record.verdict == "pass"; }

void count_reason(std::map<std::pair<std::string, std::string>, std::int64_t>& reasons,
                  const StoredRecord& first) {
  if (first.record.reasons.empty()) return;
  const schema::ReasonGiven& reason = first.record.reasons.front();
  ++reasons[{reason.code, reason.subject}];
}

// A repair between two positions makes the later test one of another unit.
bool repaired_between(const schema::StoreReader& store, const StoredRecord& a,
                      const StoredRecord& b) {
  for (const schema::Position position : store.repair_positions_of(a.record.start.serial))
    if (position > a.position && position < b.position) return true;
  return false;
}

void add_unit(YieldTold& told, const schema::StoreReader& store, const Unit& unit) {
  const StoredRecord& first = *unit.tests.front();
  const StoredRecord& last = *unit.tests.back();
  const auto count = [](Share& share, bool yes) {
    ++share.of;
    share.count += yes ? 1 : 0;
  };
  count(told.first_pass, passed(first));
  count(told.final_pass, passed(last));
  count(told.undecided, first.record.verdict == "undecided");
  count(told.retested, unit.tests.size() > 1);
  if (first.record.verdict != "fail") return;
  count(told.passed_after_fail, passed(last) && !repaired_between(store, first, last));
}

void add_stops(YieldTold& told, const std::vector<StoredRecord>& records) {
  std::map<std::pair<std::string, std::string>, YieldTold::Stops> stops;
  for (const StoredRecord& stored : records) {
    const schema::Record& record = stored.record;
    YieldTold::Stops& here = stops[{record.start.bench, record.start.operator_name}];
    here.bench = record.start.bench;
    here.person = record.start.operator_name;
    ++here.stopped.of;
    const bool by_person = record.break_off.find("stop") != std::string::npos;
    if (!by_person) continue;
    ++here.stopped.count;
    ++here.would_have_failed.of;
    here.would_have_failed.count += record.would_have_been.empty() ? 0 : 1;
  }
  for (auto& [key, here] : stops) told.stops.push_back(std::move(here));
}

}  // namespace

YieldTold yield_of(const schema::StoreReader& store, TrendFilter filter) {
  filter.purpose.clear();
  YieldTold told{.model = filter.model};
  std::vector<StoredRecord> records = records_of(store, filter);
  std::erase_if(records, [](const StoredRecord& stored) {
    const std::string& purpose = stored.record.start.purpose;
    return purpose != "production" && purpose != "retest";
  });
  std::map<std::string, Unit> units;
  for (const StoredRecord& stored : records) {
    ++told.void_tests.of;
    told.void_tests.count += stored.record.verdict == "void" ? 1 : 0;
    if (stored.record.verdict != "void") units[stored.record.start.serial].tests.push_back(&stored);
  }
  std::map<std::pair<std::string, std::string>, std::int64_t> reasons;
  for (const auto& [serial, unit] : units) {
    add_unit(told, store, unit);
    if (!passed(*unit.tests.front())) count_reason(reasons, *unit.tests.front());
  }
  const std::int64_t not_passed = told.first_pass.of - told.first_pass.count;
  for (const auto& [reason, count] : reasons)
    told.reasons.push_back({reason.first, reason.second, {count, not_passed}});
  std::ranges::sort(told.reasons,
                    [](const auto& a, const auto& b) { return a.units.count > b.units.count; });
  add_stops(told, records);
  return told;
}

}  // namespace endgate::daemon

#include "daemon/queries/yield_told.h"

#include <algorithm>
#include <array>
#include <optional>
#include <utility>

#include "daemon/queries/first_tests.h"

namespace endgate::daemon {
namespace {

using schema::TrendMetric;
using schema::TrendTest;

struct Tested {
  schema::Position position = 0;
  std::string verdict{};
  std::pair<std::string, std::string> reason{};  // the deciding one
  bool asked = false;                            // inside the filter
};
using Unit = std::vector<Tested>;  // not void, in order

bool passed(const Tested& test) { return test.verdict == "pass"; }

// A repair between two positions makes the later test one of another unit.
bool repaired_between(const schema::StoreReader& store, const std::string& serial, const Tested& a,
                      const Tested& b) {
  for (const schema::Position position : store.repair_positions_of(serial))
    if (position > a.position && position < b.position) return true;
  return false;
}

void add_unit(YieldTold& told, const schema::StoreReader& store, const std::string& serial,
              const Unit& tests) {
  const Tested& first = tests.front();
  const Tested& last = tests.back();
  const auto count = [](Share& share, bool yes) {
    ++share.of;
    share.count += yes ? 1 : 0;
  };
  count(told.first_pass, passed(first));
  count(told.final_pass, passed(last));
  count(told.undecided, first.verdict == "undecided");
  count(told.retested, tests.size() > 1);
  if (first.verdict != "fail") return;
  count(told.passed_after_fail, passed(last) && !repaired_between(store, serial, first, last));
}

// By bench, shift and person.
using StopsBy = std::map<std::array<std::string, 3>, YieldTold::Stops>;

void add_stop(StopsBy& stops, const TrendTest& test, const ShiftPlan& shifts) {
  const std::string shift = shift_at(shifts, test.started_utc_ms);
  YieldTold::Stops& here = stops[{std::string(test.bench), shift, std::string(test.operator_name)}];
  here.bench = test.bench;
  here.person = test.operator_name;
  here.shift = shift;
  ++here.stopped.of;
  if (!test.stopped_by_person) return;
  ++here.stopped.count;
  ++here.would_have_failed.of;
  here.would_have_failed.count += test.would_have_failed ? 1 : 0;
}

}  // namespace

// All tests of the model are read: whether one is its unit's first is not told by those asked for.
YieldTold yield_of(const schema::StoreReader& store, TrendFilter filter, const ShiftPlan& shifts) {
  filter.purpose.clear();
  YieldTold told{.model = filter.model, .shifts_stated = shifts.stated()};
  std::map<std::string, Unit> units;
  StopsBy stops;
  TestMatch matches(store, filter);
  for_each_test(store, every_test_of(filter), "", [&](const TrendTest& test, const TrendMetric&) {
    if (!is_of_production(test)) return;
    const bool asked = matches(test);
    if (asked) {
      ++told.void_tests.of;
      told.void_tests.count += test.verdict == "void" ? 1 : 0;
      add_stop(stops, test, shifts);
    }
    if (test.verdict == "void") return;
    units[std::string(test.serial)].push_back(
        {test.position,
         std::string(test.verdict),
         {std::string(test.reason_code), std::string(test.reason_subject)},
         asked});
  });
  std::map<std::pair<std::string, std::string>, std::int64_t> reasons;
  for (const auto& [serial, tests] : units) {
    if (!tests.front().asked) continue;
    add_unit(told, store, serial, tests);
    const auto& reason = tests.front().reason;
    if (!passed(tests.front()) && reason != std::pair<std::string, std::string>())
      ++reasons[reason];
  }
  const std::int64_t not_passed = told.first_pass.of - told.first_pass.count;
  for (const auto& [reason, count] : reasons)
    told.reasons.push_back({reason.first, reason.second, {count, not_passed}});
  std::ranges::sort(told.reasons,
                    [](const auto& a, const auto& b) { return a.units.count > b.units.count; });
  for (auto& [key, here] : stops) told.stops.push_back(std::move(here));
  return told;
}

}  // namespace endgate::daemon

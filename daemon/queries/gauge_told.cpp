#include "daemon/queries/gauge_told.h"

#include <algorithm>
#include <map>
#include <set>

#include "analysis/sum.h"
#include "daemon/queries/tests_shown.h"
#include "schema/every_entry.h"

namespace endgate::daemon {
namespace {

using statistics::StudyReading;

const std::string& place_in_study(const StudyTest& test, StudyAsked::By by) {
  return by == StudyAsked::By::bench ? test.bench : test.person;
}

// Tests of each unit at each place, in order of position.
using Cells = std::map<std::string, std::map<std::string, std::vector<const StudyTest*>>>;

Cells cells_of_study(const StudyTests& found, StudyAsked::By by) {
  Cells cells;
  for (const StudyTest& test : found.tests)
    if (!place_in_study(test, by).empty())
      cells[test.serial][place_in_study(test, by)].push_back(&test);
  return cells;
}

std::vector<std::string> places_of(const Cells& cells) {
  std::set<std::string> names;
  for (const auto& [serial, places] : cells)
    for (const auto& [place, tests] : places) names.insert(place);
  return {names.begin(), names.end()};
}

std::size_t count_at(const std::map<std::string, std::vector<const StudyTest*>>& unit,
                     const std::string& place) {
  const auto found = unit.find(place);
  return found == unit.end() ? 0 : found->second.size();
}

void keep_first(GaugeTold& told, Cells& cells, std::size_t repeats) {
  std::erase_if(cells, [&](const auto& cell) {
    const bool lacks = std::ranges::any_of(told.places, [&](const std::string& place) {
      return count_at(cell.second, place) < repeats;
    });
    if (lacks) told.left_out.push_back(cell.first);
    return lacks;
  });
  for (auto& [serial, places] : cells)
    for (auto& [place, tests] : places) tests.resize(repeats);
}

// The first cell that has another number of tests than most; empty: none.
std::string uneven_cell(const GaugeTold& told, const Cells& cells) {
  std::map<std::size_t, std::size_t> sizes;
  for (const auto& [serial, unit] : cells)
    for (const std::string& place : told.places) ++sizes[count_at(unit, place)];
  const std::size_t usual =
      std::ranges::max_element(sizes, {}, [](const auto& size) { return size.second; })->first;
  for (const auto& [serial, unit] : cells)
    for (const std::string& place : told.places)
      if (const std::size_t count = count_at(unit, place); count != usual)
        return serial + " has " + std::to_string(count) +
               (told.asked.by == StudyAsked::By::bench ? " on " : " by ") + place + ", most have " +
               std::to_string(usual);
  return "";
}

void add_readings(GaugeTold& told, const Cells& cells) {
  for (const auto& [serial, places] : cells) {
    const int unit = static_cast<int>(told.units.size());
    told.units.push_back(serial);
    for (std::size_t place = 0; place < told.places.size(); ++place)
      if (const auto tests = places.find(told.places[place]); tests != places.end())
        for (const StudyTest* test : tests->second)
          told.readings.push_back({unit, static_cast<int>(place), test->value});
  }
}

template <class Name>
void add_mixed(GaugeTold& told, const Cells& cells, const char* what, Name name_of) {
  std::set<std::string> names;
  for (const auto& [serial, places] : cells)
    for (const auto& [place, tests] : places)
      for (const StudyTest* test : tests) names.insert(name_of(*test));
  if (names.size() > 1) told.mixed.push_back(std::to_string(names.size()) + " " + what);
}

void add_mixed(GaugeTold& told, const Cells& cells) {
  if (told.asked.by == StudyAsked::By::person)
    add_mixed(told, cells, "benches", [](const StudyTest& test) { return test.bench; });
  else
    add_mixed(told, cells, "people", [](const StudyTest& test) { return test.person; });
  if (told.asked.by == StudyAsked::By::person || told.places.size() < 2) return;
  std::map<std::string, std::set<std::string>> calibrations;
  for (const StudyTest& test : told.found.tests) calibrations[test.bench].insert(test.calibration);
  if (std::ranges::any_of(calibrations, [](const auto& bench) { return bench.second.size() > 1; }))
    told.mixed.emplace_back("calibrations of one bench");
}

double mean_at(const std::vector<const StudyTest*>& tests) {
  return analysis::sum_over(tests.size(), [&](std::size_t i) { return tests[i]->value; }) /
         static_cast<double>(tests.size());
}

BenchPair pair_of(const Cells& cells, const std::string& first, const std::string& second,
                  std::optional<double> allowed) {
  std::vector<statistics::OnBoth> both;
  for (const auto& [serial, places] : cells)
    if (count_at(places, first) > 0 && count_at(places, second) > 0)
      both.push_back({mean_at(places.at(first)), mean_at(places.at(second))});
  BenchPair pair{.first = first, .second = second};
  if (const auto found = statistics::paired_difference(both, allowed))
    pair.difference = *found;
  else
    pair.none = found.error().detail;
  return pair;
}

void add_pairs(GaugeTold& told, const Cells& by_bench) {
  const std::vector<std::string> benches = places_of(by_bench);
  for (std::size_t i = 0; i < benches.size(); ++i)
    for (std::size_t j = i + 1; j < benches.size(); ++j)
      told.pairs.push_back(pair_of(by_bench, benches[i], benches[j], told.allowed_difference));
}

std::optional<double> width_of(const std::optional<HeldLast>& held) {
  if (!held || !held->bounds.lower || !held->bounds.upper) return std::nullopt;
  return *held->bounds.upper - *held->bounds.lower;
}

void add_study(GaugeTold& told, const Cells& cells) {
  const std::string uneven = cells.empty() ? "" : uneven_cell(told, cells);
  if (!uneven.empty()) {
    told.no_study = "each unit needs the same number of tests at each place: " + uneven;
    return;
  }
  if (const auto study = statistics::gauge_study(told.readings))
    told.study = *study;
  else
    told.no_study = study.error().detail;
}

// By serial the position of the last repair that has a test of the study behind it.
std::map<std::string, schema::Position> repaired_at(const StudyTests& found,
                                                    const schema::StoreReader& store) {
  std::map<std::string, schema::Position> last_test, repaired;
  for (const StudyTest& test : found.tests) last_test[test.serial] = test.position;
  for (const auto& repair : schema::every_repair(store)) {
    const auto tested = last_test.find(repair.fact.serial);
    if (tested != last_test.end() && repair.position < tested->second)
      repaired[repair.fact.serial] = repair.position;
  }
  return repaired;
}

void leave_out_before_repairs(StudyTests& found, const schema::StoreReader& store) {
  const std::map<std::string, schema::Position> repaired = repaired_at(found, store);
  found.before_repair = std::erase_if(found.tests, [&](const StudyTest& test) {
    const auto at = repaired.find(test.serial);
    return at != repaired.end() && test.position < at->second;
  });
}

}  // namespace

StudyTests study_tests(const schema::StoreReader& store, const TrendFilter& filter,
                       const std::string& metric, const StudyAsked& asked) {
  StudyTests found;
  std::set<std::string, std::less<>> missing(asked.serials.begin(), asked.serials.end());
  const std::set<std::string, std::less<>> wanted = missing;
  for_each_test(store, filter, metric,
                [&](const schema::TrendTest& test, const schema::TrendMetric& measured) {
                  if (!wanted.empty() && !wanted.contains(test.serial)) return;
                  if (test.verdict == "void" || !measured.value) {
                    ++found.without_value;
                    return;
                  }
                  if (const auto it = missing.find(test.serial); it != missing.end())
                    missing.erase(it);
                  found.tests.push_back({.position = test.position,
                                         .serial = std::string(test.serial),
                                         .bench = std::string(test.bench),
                                         .person = std::string(test.operator_name),
                                         .calibration = std::string(test.calibration),
                                         .started_utc_ms = test.started_utc_ms,
                                         .value = *measured.value});
                });
  found.not_found = {missing.begin(), missing.end()};
  leave_out_before_repairs(found, store);
  return found;
}

GaugeTold gauge_of(const schema::StoreReader& store, const TrendFilter& filter,
                   const std::string& metric, const StudyAsked& asked) {
  GaugeTold told{.metric = analysis::facts_of_metric(metric),
                 .model = filter.model,
                 .asked = asked,
                 .found = study_tests(store, filter, metric, asked)};
  const auto held = limit_held_last(store, filter.model, metric);
  told.limit_width = width_of(held);
  if (held && held->pass_band > 0) told.allowed_difference = kAllowedOfGuardBand * held->pass_band;
  Cells cells = cells_of_study(told.found, asked.by);
  told.nameless = static_cast<std::size_t>(std::ranges::count_if(
      told.found.tests, [&](const StudyTest& t) { return place_in_study(t, asked.by).empty(); }));
  told.places = places_of(cells);
  if (asked.first_repeats) keep_first(told, cells, *asked.first_repeats);
  add_readings(told, cells);
  add_mixed(told, cells);
  add_study(told, cells);
  add_pairs(told, cells_of_study(told.found, StudyAsked::By::bench));
  return told;
}

OneUnitTold one_unit_of(const schema::StoreReader& store, const TrendFilter& filter,
                        const std::string& metric, const StudyAsked& asked_tests,
                        const OneUnitAsked& asked) {
  OneUnitTold told{.metric = analysis::facts_of_metric(metric),
                   .model = filter.model,
                   .asked = asked,
                   .found = study_tests(store, filter, metric, asked_tests)};
  told.limit_width = asked.limit_width ? asked.limit_width
                                       : width_of(limit_held_last(store, filter.model, metric));
  std::vector<double> values;
  std::set<std::string> benches;
  for (const StudyTest& test : told.found.tests)
    values.push_back(test.value), benches.insert(test.bench);
  told.benches = {benches.begin(), benches.end()};
  const auto study = statistics::type_one_study(values, asked.known, told.limit_width);
  if (benches.size() > 1)
    told.no_study = "the unit was on " + std::to_string(benches.size()) +
                    " benches; name one, or ask without a known value to compare them";
  else if (study)
    told.study = *study;
  else
    told.no_study = study.error().detail;
  return told;
}

}  // namespace endgate::daemon

#include "daemon/queries/bench_between.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdlib>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "analysis/sum.h"
#include "daemon/queries/bench_checks.h"

namespace endgate::daemon {
namespace {

using schema::Position;
using schema::StoredRecord;
using Readings = std::map<std::string, BenchReading>;
using Values = std::vector<double>;

// A bench as it was when a test was made.
struct Place {
  std::string model{}, bench{}, calibration{};
  Position position = 0;
};

std::string calibration_of(const schema::Record& record) {
  constexpr std::string_view kKind = "calibration ";
  for (const std::string& id : record.context_ids)
    if (id.starts_with(kKind)) return id;
  return "";
}

Place place_of_test(const StoredRecord& test) {
  const schema::Record& record = test.record;
  return {record.start.model, record.start.bench, calibration_of(record), test.position};
}

bool is_at(const schema::Record& record, const Place& place) {
  return record.start.model == place.model && record.start.bench == place.bench &&
         calibration_of(record) == place.calibration;
}

Position distance(Position a, Position b) { return std::abs(a - b); }

double mean_of(const Values& values) {
  return analysis::sum_of(values) / static_cast<double>(values.size());
}

double squares_about(const Values& values, double mean) {
  analysis::Sum squares;
  for (const double value : values) squares.add((value - mean) * (value - mean));
  return squares.value();
}

// The tests nearest to a place, each beside the one of two places that it is nearer to.
std::vector<const StoredRecord*> nearest(const std::vector<const StoredRecord*>& tests,
                                         const Place& place, const Place& other) {
  std::vector<const StoredRecord*> found;
  for (const StoredRecord* test : tests) {
    if (!is_at(test->record, place) || test->position == place.position) continue;
    if (place.bench == other.bench &&
        distance(test->position, other.position) <= distance(test->position, place.position))
      continue;
    found.push_back(test);
  }
  std::ranges::sort(found, {}, [&](const StoredRecord* test) {
    return distance(test->position, place.position);
  });
  found.resize(std::min(found.size(), kReadingsLookedAt));
  return found;
}

std::map<std::string, Values> values_of(const std::vector<const StoredRecord*>& tests) {
  std::map<std::string, Values> values;
  for (const StoredRecord* test : tests)
    for (const schema::MetricValue& metric : test->record.metrics)
      if (metric.value) values[metric.id].push_back(*metric.value);
  return values;
}

// Of one unit at two places.
std::optional<BenchReading> difference_of(const Values& earlier, const Values& later) {
  if (std::min(earlier.size(), later.size()) < kFewestReadings) return std::nullopt;
  const double n = static_cast<double>(earlier.size()), m = static_cast<double>(later.size());
  const double before = mean_of(earlier), after = mean_of(later), freedom = n + m - 2;
  const double scatter = (squares_about(earlier, before) + squares_about(later, after)) / freedom;
  if (!(scatter > 0)) return std::nullopt;  // the same number again and again is no measurement
  return BenchReading{after - before,
                      std::sqrt(scatter * (1 / n + 1 / m) * freedom / (freedom - 2))};
}

// Whether two units say what they cannot both be right about: one of them wore.
bool contradict(const BenchReading& one, const BenchReading& other) {
  return std::abs(one.reads_more - other.reads_more) > kContradictedAt * std::hypot(one.u, other.u);
}

// Each unit by what it is sure of; no surer than they agree among each other.
std::optional<BenchReading> weighed(const std::vector<BenchReading>& units) {
  analysis::Sum weights, weighed;
  for (const BenchReading& unit : units) {
    if (std::ranges::any_of(units, [&](const auto& other) { return contradict(unit, other); }))
      return std::nullopt;
    const double weight = 1 / (unit.u * unit.u);
    weights.add(weight);
    weighed.add(weight * unit.reads_more);
  }
  const double mean = weighed.value() / weights.value();
  analysis::Sum chi_square;
  for (const BenchReading& unit : units)
    chi_square.add((unit.reads_more - mean) * (unit.reads_more - mean) / (unit.u * unit.u));
  const double freedom = std::max(1.0, static_cast<double>(units.size()) - 1);
  return BenchReading{mean,
                      std::sqrt(std::max(1.0, chi_square.value() / freedom) / weights.value())};
}

// The checks of a reference unit on any of the benches asked about, oldest first.
using ChecksOfUnits = std::map<std::string, std::vector<KeptCheck>>;

ChecksOfUnits checks_on(const schema::StoreReader& store, const std::set<std::string>& benches) {
  ChecksOfUnits checks;
  for (const std::string& bench : benches)
    for (KeptCheck& check : store.bench_checks(bench, kReferenceUnit))
      checks[check.fact.subject].push_back(std::move(check));
  for (auto& [unit, its] : checks) std::ranges::sort(its, {}, &KeptCheck::position);
  return checks;
}

// Whether the service itself said that nothing is to be learned from a test: what was clamped may
// have been another unit.  A check is kept behind its test.
bool is_disowned(const StoredRecord& test, const std::vector<KeptCheck>& checks) {
  const auto check = std::ranges::find_if(checks, [&](const KeptCheck& each) {
    return each.position > test.position && each.fact.bench == test.record.start.bench &&
           each.fact.outcome != kLearnAnew;
  });
  return check != checks.end() && check->fact.outcome == kNotTaken;
}

// What is learned anew was repaired or swapped: from there on it is as another unit.
std::ptrdiff_t level_at(Position position, const std::vector<KeptCheck>& checks) {
  return std::ranges::count_if(checks, [&](const KeptCheck& check) {
    return check.fact.outcome == kLearnAnew && check.position < position;
  });
}

// The readings of one unit, by its level.  One that failed counts: a bench that drifted far lets
// its reference unit fail.
std::map<std::ptrdiff_t, std::vector<const StoredRecord*>> readings_of(
    const std::vector<StoredRecord>& tests, const std::vector<KeptCheck>& checks) {
  std::map<std::ptrdiff_t, std::vector<const StoredRecord*>> readings;
  for (const StoredRecord& test : tests)
    if (test.record.start.purpose == "reference" && test.record.verdict != "void" &&
        !is_disowned(test, checks))
      readings[level_at(test.position, checks)].push_back(&test);
  return readings;
}

Readings by_reference_units(const schema::StoreReader& store, const Place& earlier,
                            const Place& later) {
  std::map<std::string, std::vector<BenchReading>> by_metric;
  for (const auto& [unit, checks] : checks_on(store, {earlier.bench, later.bench})) {
    const std::vector<StoredRecord> tests = store.records_of(unit);
    for (const auto& [level, of_level] : readings_of(tests, checks)) {
      const auto before = values_of(nearest(of_level, earlier, later));
      const auto after = values_of(nearest(of_level, later, earlier));
      for (const auto& [metric, values] : before) {
        const auto others = after.find(metric);
        if (others == after.end()) continue;
        if (const auto found = difference_of(values, others->second))
          by_metric[metric].push_back(*found);
      }
    }
  }
  Readings readings;
  for (const auto& [metric, units] : by_metric)
    if (const auto reading = weighed(units)) readings[metric] = *reading;
  return readings;
}

struct BatchOnBoth {
  Position position = 0;  // of its first test
  std::map<std::string, Values> on_earlier{}, on_later{};
};

// The first tests of units near the earlier place, by batch, but for those that failed: one broken
// unit moves the mean of its batch by more than benches differ.
std::map<std::string, BatchOnBoth> batches_near(const schema::StoreReader& store,
                                                const Place& earlier, const Place& later) {
  std::map<std::string, BatchOnBoth> batches;
  std::set<std::string> seen;
  const Position last = earlier.position + kPositionsLookedAt;
  store.for_each_record_behind(
      std::max<Position>(0, earlier.position - kPositionsLookedAt), [&](const StoredRecord& test) {
        if (test.position > last) return false;
        const schema::Record& record = test.record;
        const bool on_earlier = is_at(record, earlier);
        const bool is_of_production =
            record.start.purpose == "production" || record.start.purpose == "retest";
        if (record.start.batch.empty() || !is_of_production || record.verdict == "void" ||
            !seen.insert(record.start.serial).second || record.verdict == "fail" ||
            test.position == earlier.position || (!on_earlier && !is_at(record, later)))
          return true;
        BatchOnBoth& batch = batches[record.start.batch];
        if (batch.position == 0) batch.position = test.position;
        for (const schema::MetricValue& metric : record.metrics)
          if (metric.value)
            (on_earlier ? batch.on_earlier : batch.on_later)[metric.id].push_back(*metric.value);
        return true;
      });
  return batches;
}

std::vector<const BatchOnBoth*> nearest_batches(const std::map<std::string, BatchOnBoth>& batches,
                                                const Place& earlier) {
  std::vector<const BatchOnBoth*> found;
  for (const auto& [name, batch] : batches)
    if (!batch.on_earlier.empty() && !batch.on_later.empty()) found.push_back(&batch);
  std::ranges::sort(found, {}, [&](const BatchOnBoth* batch) {
    return distance(batch->position, earlier.position);
  });
  found.resize(std::min(found.size(), kBatchesLookedAt));
  return found;
}

Readings by_common_batches(const schema::StoreReader& store, const Place& earlier,
                           const Place& later) {
  const auto batches = batches_near(store, earlier, later);
  std::map<std::string, Values> differences;
  for (const BatchOnBoth* batch : nearest_batches(batches, earlier))
    for (const auto& [metric, values] : batch->on_earlier)
      if (const auto others = batch->on_later.find(metric); others != batch->on_later.end())
        differences[metric].push_back(mean_of(others->second) - mean_of(values));
  Readings readings;
  for (const auto& [metric, each] : differences) {
    const double n = static_cast<double>(each.size()), mean = mean_of(each);
    if (each.size() < kFewestBatches) continue;
    const double square = squares_about(each, mean) / (n - 1) / n * (n - 1) / (n - 3);
    if (square > 0) readings[metric] = {mean, std::sqrt(square)};
  }
  return readings;
}

// By batches that both benches had, and what the later bench reads differently since.
Readings by_batches_and_since(const schema::StoreReader& store, const Place& earlier,
                              const Place& later) {
  const Readings between = by_common_batches(store, earlier, later);
  if (between.empty()) return {};
  Place then = later;
  then.position = earlier.position;
  Readings readings;
  for (const auto& [metric, since] : by_reference_units(store, then, later))
    if (const auto found = between.find(metric); found != between.end())
      readings[metric] = {found->second.reads_more + since.reads_more,
                          std::hypot(found->second.u, since.u)};
  return readings;
}

}  // namespace

Readings bench_between(const schema::StoreReader& store, const StoredRecord& earlier,
                       const StoredRecord& later) {
  const Place from = place_of_test(earlier), to = place_of_test(later);
  if (from.model != to.model) return {};
  Readings readings = by_reference_units(store, from, to);
  if (from.bench == to.bench) return readings;
  for (auto& [metric, reading] : by_batches_and_since(store, from, to))
    readings.emplace(metric, reading);
  return readings;
}

}  // namespace endgate::daemon

#include "daemon/queries/trend_columns.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "analysis/statistics/change_point.h"
#include "daemon/queries/repair_lots.h"
#include "schema/every_entry.h"
#include "schema/trend_file.h"

namespace endgate::daemon {
namespace {

using schema::TrendMetric;
using schema::TrendTest;
using statistics::ReferenceCheck;
using statistics::TestColumns;

// Lots of batches and units, and those that a repair built in, from then on; those of the unit win,
// the newest of a part.  Few units have lots of their own, and a store of a million tests is not
// asked about each.
class LotBook {
 public:
  using Lots = std::map<std::string, std::string>;  // by part

  explicit LotBook(const schema::StoreReader& store)
      : store_(store), units_(as_set(store.subjects_with_lots("unit"))) {
    for (const auto& [position, repair] : schema::every_repair(store))
      if (auto lots = lots_in(repair); !lots.empty())
        repaired_[repair.serial].push_back({position, std::move(lots)});
  }

  const Lots& of(const TrendTest& test) {
    const Lots& batch = of_batch(test.batch);
    const auto repaired = repaired_.find(test.serial);
    if (!units_.contains(test.serial) && repaired == repaired_.end()) return batch;
    std::vector<BuiltIn> built_in;
    for (const auto& [position, lots] : store_.lots_of("unit", std::string(test.serial)))
      built_in.push_back({position, lots.parts});
    if (repaired != repaired_.end())
      for (const BuiltIn& repair : repaired->second)
        if (repair.position < test.position) built_in.push_back(repair);
    std::ranges::sort(built_in, {}, &BuiltIn::position);
    unit_ = batch;
    for (const BuiltIn& each : built_in)
      for (const schema::PartLot& part : each.parts) unit_[part.part] = part.lot;
    return unit_;
  }

 private:
  struct BuiltIn {
    schema::Position position = 0;
    std::vector<schema::PartLot> parts{};
  };
  static std::set<std::string, std::less<>> as_set(const std::vector<std::string>& names) {
    return {names.begin(), names.end()};
  }
  void add(const std::string& kind, const std::string& subject, Lots& to) const {
    for (const auto& kept : store_.lots_of(kind, subject))
      for (const schema::PartLot& part : kept.fact.parts) to[part.part] = part.lot;
  }
  const Lots& of_batch(std::string_view batch) {
    const auto known = batches_.find(batch);
    if (known != batches_.end()) return known->second;
    Lots& lots = batches_[std::string(batch)];
    if (!batch.empty()) add("batch", std::string(batch), lots);
    return lots;
  }

  const schema::StoreReader& store_;
  std::set<std::string, std::less<>> units_;
  std::map<std::string, std::vector<BuiltIn>, std::less<>> repaired_{};  // by serial
  std::map<std::string, Lots, std::less<>> batches_{};
  Lots unit_{};  // of the unit asked for last
};

// A factor that a row does not name is unknown there, also for the rows before its first name.
void add_factor(TestColumns& columns, const std::string& name, const std::string& level) {
  auto found = std::ranges::find(columns.causes, name, &statistics::Factor::name);
  if (found == columns.causes.end()) {
    columns.causes.push_back({.name = name});
    found = columns.causes.end() - 1;
  }
  found->of_row.resize(columns.rows() - 1, -1);
  found->add(level);
}

void add_row(TestColumns& columns, const TrendTest& test, const TrendMetric& metric,
             const std::map<std::string, std::string>& lots) {
  columns.position.push_back(test.position);
  columns.time_utc_ms.push_back(test.started_utc_ms);
  columns.value.push_back(*metric.value);
  columns.u.push_back(metric.u.value_or(0));
  columns.batch.add(test.batch.empty() ? "no batch" : std::string(test.batch));
  columns.bench.add(std::string(test.bench));
  for (const auto& [part, lot] : lots) add_factor(columns, part + " lot", lot);
  add_factor(columns, "calibration", std::string(test.calibration));
  add_factor(columns, "limit set", std::string(test.limits));
  add_factor(columns, "operator", std::string(test.operator_name));
  add_factor(columns, "software", std::string(test.software));
}

// What a check really scatters by shows in its own differences: a unit is clamped anew each time.
void widen_to_scatter(std::vector<ReferenceCheck>& checks) {
  constexpr std::size_t kEnough = 6;
  std::map<std::string, std::vector<double>> values;
  for (const ReferenceCheck& check : checks)
    values[check.bench + " " + check.unit].push_back(check.value);
  for (ReferenceCheck& check : checks) {
    const auto& own = values[check.bench + " " + check.unit];
    if (own.size() >= kEnough) check.u = std::max(check.u, statistics::sigma_from_differences(own));
  }
}

// The position from which truth goes on.  A derived file that turns out to be damaged half-way only
// makes the rest slower.
schema::Position visit_derived(const schema::TrendReader& derived, const TrendFilter& filter,
                               const std::string& metric, const schema::VisitTest& visit) {
  schema::Position seen = 0;
  try {
    derived.for_each_test(filter.model, metric, filter.since_utc_ms,
                          [&](const TrendTest& test, const TrendMetric& found) {
                            visit(test, found);
                            seen = test.position;
                          });
    return derived.position();
  } catch (const schema::StoreFault& fault) {
    if (fault.kind() == schema::StoreFault::Kind::out_of_time) throw;
    return seen;
  }
}

// The tests of one model, or of all when it is empty.
void for_each_of_model(const schema::StoreReader& store, const TrendFilter& filter,
                       const std::string& metric, const schema::VisitTest& visit) {
  const auto derived = filter.model.empty() ? nullptr : schema::TrendReader::open(store);
  const schema::Position known =
      derived ? visit_derived(*derived, filter, metric, visit) : schema::Position{0};
  store.for_each_record_behind(known, [&](const schema::StoredRecord& stored) {
    visit(trend_test_of(stored), trend_metric_of(stored.record, metric));
    return true;
  });
}

}  // namespace

TrendFilter every_test_of(const TrendFilter& filter) {
  return {.model = filter.model, .purpose = ""};
}

bool matches(const TrendTest& test, const TrendFilter& filter) {
  const auto is = [](const std::string& asked, std::string_view found) {
    return asked.empty() || asked == found;
  };
  return is(filter.model, test.model) && is(filter.bench, test.bench) &&
         is(filter.batch, test.batch) && is(filter.purpose, test.purpose) &&
         test.started_utc_ms >= filter.since_utc_ms;
}

void for_each_test(const schema::StoreReader& store, const TrendFilter& filter,
                   const std::string& metric, const schema::VisitTest& visit) {
  for_each_of_model(store, filter, metric, [&](const TrendTest& test, const TrendMetric& value) {
    if (matches(test, filter)) visit(test, value);
  });
}

std::vector<schema::StoredRecord> records_of(const schema::StoreReader& store,
                                             const TrendFilter& filter) {
  std::vector<schema::StoredRecord> found;
  store.for_each_record([&](const schema::StoredRecord& stored) {
    if (matches(trend_test_of(stored), filter)) found.push_back(stored);
    return true;
  });
  return found;
}

MetricColumns columns_of(const schema::StoreReader& store, const TrendFilter& filter,
                         const std::string& metric) {
  MetricColumns out;
  LotBook lots(store);
  TrendFilter checks = filter;
  checks.purpose = "reference";
  checks.batch.clear();
  for_each_of_model(store, filter, metric, [&](const TrendTest& test, const TrendMetric& found) {
    if (!found.value || test.verdict == "void") return;
    const bool is_check = test.purpose == "reference" && filter.purpose != "reference";
    if (!is_check && matches(test, filter))
      add_row(out.columns, test, found, lots.of(test));
    else if (is_check && matches(test, checks))
      out.checks.push_back({std::string(test.bench), std::string(test.serial),
                            std::max<std::size_t>(1, out.columns.batch.levels.size()) - 1,
                            *found.value, found.random_u.value_or(0)});
  });
  for (statistics::Factor& factor : out.columns.causes)
    factor.of_row.resize(out.columns.rows(), -1);
  widen_to_scatter(out.checks);
  return out;
}

}  // namespace endgate::daemon

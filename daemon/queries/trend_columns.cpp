#include "daemon/queries/trend_columns.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "analysis/statistics/change_point.h"
#include "schema/trend_file.h"

namespace endgate::daemon {
namespace {

using schema::TrendMetric;
using schema::TrendTest;
using statistics::ReferenceCheck;
using statistics::TestColumns;

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
             const LotBook::Lots& lots) {
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

bool TrendFilter::is_whole() const {
  const TrendFilter all{.model = model, .purpose = ""};
  return bench == all.bench && batch == all.batch && purpose == all.purpose && lot == all.lot &&
         since_utc_ms == all.since_utc_ms && before_utc_ms == all.before_utc_ms;
}

TestMatch::TestMatch(const schema::StoreReader& store, TrendFilter filter)
    : filter_(std::move(filter)) {
  if (!filter_.lot.empty()) own_.emplace(store);
}

TestMatch::TestMatch(LotBook& book, TrendFilter filter)
    : filter_(std::move(filter)), given_(&book) {}

bool TestMatch::operator()(const TrendTest& test) {
  const auto holds_lot = [&] { return (own_ ? *own_ : *given_).holds(test, filter_.lot); };
  const auto is = [](const std::string& asked, std::string_view found) {
    return asked.empty() || asked == found;
  };
  return is(filter_.model, test.model) && is(filter_.bench, test.bench) &&
         is(filter_.batch, test.batch) && is(filter_.purpose, test.purpose) &&
         test.started_utc_ms >= filter_.since_utc_ms &&
         test.started_utc_ms < filter_.before_utc_ms && (filter_.lot.empty() || holds_lot());
}

void for_each_test(const schema::StoreReader& store, const TrendFilter& filter,
                   const std::string& metric, const schema::VisitTest& visit) {
  TestMatch matches(store, filter);
  for_each_of_model(store, filter, metric, [&](const TrendTest& test, const TrendMetric& value) {
    if (matches(test)) visit(test, value);
  });
}

std::vector<schema::StoredRecord> records_of(const schema::StoreReader& store,
                                             const TrendFilter& filter) {
  std::vector<schema::StoredRecord> found;
  TestMatch matches(store, filter);
  store.for_each_record([&](const schema::StoredRecord& stored) {
    if (matches(trend_test_of(stored))) found.push_back(stored);
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
  checks.lot.clear();
  TestMatch is_asked(lots, filter), is_asked_check(lots, checks);
  for_each_of_model(store, filter, metric, [&](const TrendTest& test, const TrendMetric& found) {
    if (!found.value || test.verdict == "void") return;
    const bool is_check = test.purpose == "reference" && filter.purpose != "reference";
    if (!is_check && is_asked(test))
      add_row(out.columns, test, found, lots.of(test));
    else if (is_check && is_asked_check(test))
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

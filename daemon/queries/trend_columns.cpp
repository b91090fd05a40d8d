#include "daemon/queries/trend_columns.h"

#include <algorithm>
#include <cmath>

#include "analysis/statistics/change_point.h"

namespace endgate::daemon {
namespace {

using schema::MetricValue;
using schema::Record;
using statistics::ReferenceCheck;
using statistics::TestColumns;

bool matches(const Record& record, const TrendFilter& filter) {
  const schema::TestStart& start = record.start;
  const auto is = [](const std::string& asked, const std::string& found) {
    return asked.empty() || asked == found;
  };
  return is(filter.model, start.model) && is(filter.bench, start.bench) &&
         is(filter.batch, start.batch) && is(filter.purpose, start.purpose) &&
         start.at.utc_ms >= filter.since_utc_ms;
}

const MetricValue* value_in(const Record& record, const std::string& metric) {
  for (const MetricValue& value : record.metrics)
    if (value.id == metric && value.value && record.verdict != "void") return &value;
  return nullptr;
}

double random_u(const MetricValue& value) {
  for (const schema::UncertaintyPart& part : value.parts)
    if (part.cause == "random") return part.u;
  return value.u.value_or(0);
}

// "calibration north@2" -> "north@2"
std::string context_named(const Record& record, const std::string& kind) {
  for (const std::string& id : record.context_ids)
    if (id.starts_with(kind + " ")) return id.substr(kind.size() + 1);
  return "";
}

// Lots of batches and units; those of the unit win.
class LotBook {
 public:
  explicit LotBook(const schema::StoreReader& store) : store_(store) {}

  std::map<std::string, std::string> of(const schema::TestStart& start) {
    std::map<std::string, std::string> lots = lots_of("batch", start.batch);
    for (const auto& [part, lot] : lots_of("unit", start.serial)) lots[part] = lot;
    return lots;
  }

 private:
  const std::map<std::string, std::string>& lots_of(const std::string& kind,
                                                    const std::string& subject) {
    const auto [place, fresh] = known_.try_emplace(kind + " " + subject);
    if (fresh && !subject.empty())
      for (const auto& kept : store_.lots_of(kind, subject))
        for (const schema::PartLot& part : kept.fact.parts) place->second[part.part] = part.lot;
    return place->second;
  }

  const schema::StoreReader& store_;
  std::map<std::string, std::map<std::string, std::string>> known_{};
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

void add_row(TestColumns& columns, const schema::StoredRecord& stored, const MetricValue& value,
             const std::map<std::string, std::string>& lots) {
  const schema::TestStart& start = stored.record.start;
  columns.position.push_back(stored.position);
  columns.time_utc_ms.push_back(start.at.utc_ms);
  columns.value.push_back(*value.value);
  columns.u.push_back(value.u.value_or(0));
  columns.batch.add(start.batch.empty() ? "no batch" : start.batch);
  columns.bench.add(start.bench);
  for (const auto& [part, lot] : lots) add_factor(columns, part + " lot", lot);
  add_factor(columns, "calibration", context_named(stored.record, "calibration"));
  add_factor(columns, "limit set", context_named(stored.record, "limits"));
  add_factor(columns, "operator", start.operator_name);
  add_factor(columns, "software", stored.record.software);
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

}  // namespace

std::vector<schema::StoredRecord> records_of(const schema::StoreReader& store,
                                             const TrendFilter& filter) {
  std::vector<schema::StoredRecord> found;
  store.for_each_record([&](const schema::StoredRecord& stored) {
    if (matches(stored.record, filter)) found.push_back(stored);
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
  store.for_each_record([&](const schema::StoredRecord& stored) {
    const MetricValue* value = value_in(stored.record, metric);
    if (value == nullptr) return true;
    const schema::TestStart& start = stored.record.start;
    if (matches(stored.record, filter))
      add_row(out.columns, stored, *value, lots.of(start));
    else if (matches(stored.record, checks))
      out.checks.push_back({start.bench, start.serial,
                            std::max<std::size_t>(1, out.columns.batch.levels.size()) - 1,
                            *value->value, random_u(*value)});
    return true;
  });
  for (statistics::Factor& factor : out.columns.causes)
    factor.of_row.resize(out.columns.rows(), -1);
  widen_to_scatter(out.checks);
  return out;
}

}  // namespace endgate::daemon

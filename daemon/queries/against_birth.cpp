#include "daemon/queries/against_birth.h"

#include <algorithm>
#include <map>
#include <set>

#include "daemon/mapping/evaluation_parts.h"
#include "daemon/queries/bench_between.h"

namespace endgate::daemon {
namespace {

std::vector<analysis::Metric> metrics_of(const schema::Record& record) {
  std::vector<analysis::Metric> metrics;
  for (const schema::MetricValue& stored : record.metrics) metrics.push_back(metric_of(stored));
  return metrics;
}

std::string taken_out_of(const std::vector<analysis::Difference>& differences) {
  std::set<std::string> causes;
  for (const analysis::Difference& one : differences)
    causes.insert(one.common.begin(), one.common.end());
  std::string words;
  for (const std::string& cause : causes) words += (words.empty() ? "" : ", ") + cause;
  return words;
}

std::optional<AgainstBirth> compared(const UnitHistory& unit, const schema::StoredRecord& later,
                                     const std::map<std::string, BenchReading>& readings) {
  const schema::StoredRecord* birth = birth_of(unit);
  if (birth == nullptr || later.position <= birth->position) return std::nullopt;
  AgainstBirth against{
      .birth_attempt = birth->record.start.attempt,
      .differences = analysis::differences(metrics_of(birth->record), metrics_of(later.record))};
  for (analysis::Difference& one : against.differences)
    if (const auto found = readings.find(one.metric); found != readings.end())
      analysis::take_out(one, found->second.reads_more, found->second.u);
  against.sentence = analysis::birth_sentence(
      against.differences, {.later_void = later.record.verdict == "void",
                            .other_bench = later.record.start.bench != birth->record.start.bench});
  against.taken_out = taken_out_of(against.differences);
  return against;
}

}  // namespace

const schema::StoredRecord* birth_of(const UnitHistory& unit) {
  const auto found = std::ranges::find_if(unit.tests, [](const schema::StoredRecord& test) {
    const std::string& purpose = test.record.start.purpose;
    return test.record.verdict == "pass" && (purpose == "production" || purpose == "retest");
  });
  return found == unit.tests.end() ? nullptr : &*found;
}

std::optional<AgainstBirth> against_birth(const UnitHistory& unit,
                                          const schema::StoredRecord& later) {
  return compared(unit, later, {});
}

std::optional<AgainstBirth> against_birth(const schema::StoreReader& store, const UnitHistory& unit,
                                          const schema::StoredRecord& later) {
  const schema::StoredRecord* birth = birth_of(unit);
  if (birth == nullptr || later.position <= birth->position) return std::nullopt;
  return compared(unit, later, bench_between(store, *birth, later));
}

}  // namespace endgate::daemon

#include "daemon/queries/side_by_side.h"

#include <algorithm>
#include <charconv>

#include "daemon/mapping/evaluation_parts.h"
#include "daemon/queries/unit_history.h"

namespace endgate::daemon {
namespace {

struct Named {
  std::string serial{};
  std::int64_t attempt = 0;  // 0: the newest
};

Named read_name(const std::string& text) {
  const std::size_t slash = text.rfind('/');
  if (slash == std::string::npos) return {text};
  Named named{text.substr(0, slash)};
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(text.data() + slash + 1, end, named.attempt);
  if (read.ec != std::errc() || read.ptr != end || named.attempt < 1) return {text};
  return named;
}

std::optional<schema::StoredRecord> find_test(const schema::StoreReader& store,
                                              const Named& named) {
  std::vector<schema::StoredRecord> tests = store.records_of(named.serial);
  for (auto test = tests.rbegin(); test != tests.rend(); ++test)
    if (named.attempt == 0 ? test->record.verdict != "void"
                           : test->record.start.attempt == named.attempt)
      return std::move(*test);
  return std::nullopt;
}

std::vector<analysis::Metric> metrics_beside(const schema::StoredRecord& test) {
  std::vector<analysis::Metric> metrics;
  for (const schema::MetricValue& stored : test.record.metrics)
    metrics.push_back(metric_of(stored));
  return metrics;
}

std::string standing_of(const schema::StoreReader& store, const std::string& serial) {
  const auto standing = standing_now(store, serial);
  return standing ? standing->word : "";
}

bool is_there(const std::vector<UnitBeside>& units, const schema::StoredRecord& test) {
  return std::ranges::any_of(
      units, [&](const UnitBeside& unit) { return unit.test.position == test.position; });
}

template <class What>
bool differ(const std::vector<UnitBeside>& units, What what) {
  return std::ranges::any_of(units, [&](const UnitBeside& unit) {
    return what(unit.test.record.start) != what(units.front().test.record.start);
  });
}

}  // namespace

bool SideBySide::other_models() const {
  return differ(units, [](const schema::TestStart& start) { return start.model; });
}

bool SideBySide::other_benches() const {
  return differ(units, [](const schema::TestStart& start) { return start.bench; });
}

const schema::MetricValue* metric_in(const UnitBeside& unit, const analysis::MetricFacts& facts) {
  for (const schema::MetricValue& metric : unit.test.record.metrics)
    if (metric.id == facts.id && metric.value) return &metric;
  return nullptr;
}

const analysis::Difference* difference_in(const UnitBeside& unit,
                                          const analysis::MetricFacts& facts) {
  for (const analysis::Difference& difference : unit.to_first)
    if (difference.metric == facts.id) return &difference;
  return nullptr;
}

SideBySide side_by_side(const schema::StoreReader& store, const std::vector<std::string>& named) {
  SideBySide told;
  for (const std::string& name : named) {
    const Named wanted = read_name(name);
    auto test = find_test(store, wanted);
    if (test && is_there(told.units, *test)) continue;  // named twice
    if (test)
      told.units.push_back(
          {.test = std::move(*test), .standing = standing_of(store, wanted.serial)});
    else
      (store.records_of(wanted.serial).empty() || wanted.attempt > 0 ? told.not_found
                                                                     : told.only_void)
          .push_back(name);
  }
  for (std::size_t i = 1; i < told.units.size(); ++i)
    told.units[i].to_first = analysis::differences(metrics_beside(told.units[0].test),
                                                   metrics_beside(told.units[i].test));
  for (const analysis::MetricFacts& facts : analysis::kMetricFacts)
    if (std::ranges::any_of(
            told.units, [&](const UnitBeside& unit) { return metric_in(unit, facts) != nullptr; }))
      told.metrics.push_back(&facts);
  return told;
}

std::string difference_words(const SideBySide& told, std::size_t unit) {
  const schema::TestStart& one = told.units[unit].test.record.start;
  const schema::TestStart& first = told.units.front().test.record.start;
  const std::string pair = one.serial == first.serial
                               ? "Attempts " + std::to_string(one.attempt) + " and " +
                                     std::to_string(first.attempt) + " of " + one.serial
                               : one.serial + " and " + first.serial;
  std::size_t held = 0, beyond = 0;
  std::string names;
  for (const analysis::MetricFacts* facts : told.metrics) {
    const analysis::Difference* difference = difference_in(told.units[unit], *facts);
    if (difference == nullptr || !difference->u) continue;
    ++held;
    if (!difference->significant()) continue;
    ++beyond;
    names += (names.empty() ? "" : ", ") + std::string(facts->sentence_name);
  }
  if (held == 0) return pair + " have no metric in common that could be compared.";
  const std::string all = std::to_string(held) + (held == 1 ? " metric" : " metrics");
  if (beyond == 0) return pair + " do not differ beyond uncertainty in any of " + all + ".";
  return pair + " differ beyond uncertainty in " + std::to_string(beyond) + " of " + all + ": " +
         names + ".";
}

namespace {

std::vector<std::string> not_beside_words(const SideBySide& told) {
  std::vector<std::string> words;
  for (const std::string& name : told.not_found)
    words.push_back("There is no test of " + name + " here.");
  for (const std::string& name : told.only_void)
    words.push_back("Every test of " + name + " is void; name one as serial/attempt.");
  return words;
}

}  // namespace

std::vector<std::string> words_of(const SideBySide& told) {
  std::vector<std::string> words = not_beside_words(told);
  if (told.units.size() < 2) {
    words.emplace_back("Two units with a test are needed: name their serials.");
    return words;
  }
  std::vector<std::string> answer;
  for (std::size_t i = 1; i < told.units.size(); ++i) answer.push_back(difference_words(told, i));
  answer.push_back("Differences are to " + told.units.front().test.record.start.serial +
                   "; those beyond their uncertainty (k = 2) are marked, one in twenty by chance.");
  if (told.other_benches())
    answer.emplace_back("The benches differ; what they read differently is not taken out.");
  if (told.other_models())
    answer.emplace_back(
        "The models differ, and with them voltage, sequence and what counts as warm.");
  answer.insert(answer.end(), words.begin(), words.end());
  return answer;
}

}  // namespace endgate::daemon

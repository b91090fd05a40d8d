#include "daemon/queries/fail_causes.h"

#include <algorithm>
#include <map>

#include "daemon/queries/first_tests.h"
#include "daemon/queries/population_words.h"

namespace endgate::daemon {
namespace {

std::vector<schema::Position> first_fails(const schema::StoreReader& store,
                                          const TrendFilter& filter) {
  std::vector<schema::Position> fails;
  for_each_first_test(store, filter, "",
                      [&](const schema::TrendTest& test, const schema::TrendMetric&) {
                        if (test.verdict == "fail") fails.push_back(test.position);
                      });
  return fails;
}

}  // namespace

FailCauses fail_causes_of(const schema::StoreReader& store, TrendFilter filter, std::size_t most) {
  filter.purpose = "production";
  const std::vector<schema::Position> fails = first_fails(store, filter);
  FailCauses told{.failed = static_cast<std::int64_t>(fails.size())};
  std::map<std::string, std::int64_t> counts;
  for (std::size_t i = fails.size() - std::min(most, fails.size()); i < fails.size(); ++i) {
    const auto stored = store.record_at(fails[i]);
    if (!stored) continue;
    ++told.looked_at;
    const auto& causes = stored->record.causes;
    ++counts[causes.empty() ? "" : causes.front().name];
  }
  for (const auto& [cause, count] : counts) told.causes.push_back({cause, {count, told.looked_at}});
  std::ranges::stable_sort(told.causes, std::greater<>(),
                           [](const FailCauses::Named& named) { return named.units.count; });
  return told;
}

std::vector<std::string> words_of(const FailCauses& told) {
  std::vector<std::string> words;
  for (const FailCauses::Named& named : told.causes)
    words.push_back("Likely cause of the fails at the first test, " +
                    (named.cause.empty() ? "none stated" : named.cause) + ": " +
                    share_words(named.units) + ".");
  if (told.looked_at < told.failed)
    words.push_back("Counted are the newest " + std::to_string(told.looked_at) + " of " +
                    std::to_string(told.failed) + " fails.");
  return words;
}

}  // namespace endgate::daemon

#include "daemon/queries/tests_listed.h"

#include <algorithm>
#include <functional>

namespace endgate::daemon {
namespace {

// Newest first.
std::vector<schema::Position> positions_of(const schema::StoreReader& store, const ListAsked& asked,
                                           const std::vector<std::string>& models) {
  std::vector<schema::Position> found;
  for (const std::string& model : models) {
    TrendFilter filter = asked.filter;
    if (!filter.model.empty() && filter.model != model) continue;
    filter.model = model;
    for_each_test(store, filter, "",
                  [&](const schema::TrendTest& test, const schema::TrendMetric&) {
                    if (asked.verdict.empty() || asked.verdict == test.verdict)
                      found.push_back(test.position);
                  });
  }
  std::ranges::sort(found, std::greater());
  return found;
}

bool is_everything(const ListAsked& asked) {
  return asked.filter.model.empty() && asked.filter.is_whole() && asked.verdict.empty();
}

// The page that opens: as quick however many tests there are.
TestsListed newest_of_all(const schema::StoreReader& store, std::size_t count) {
  TestsListed listed{.tests = store.latest_records(count),
                     .matching = static_cast<std::size_t>(store.record_count())};
  if (listed.matching > listed.tests.size() && !listed.tests.empty())
    listed.next_before = listed.tests.back().position;
  return listed;
}

}  // namespace

TestsListed tests_listed(const schema::StoreReader& store, const ListAsked& asked,
                         const std::vector<std::string>& models) {
  if (asked.before == 0 && is_everything(asked)) return newest_of_all(store, asked.count);
  const std::vector<schema::Position> all = positions_of(store, asked, models);
  TestsListed listed{.matching = all.size()};
  auto next = asked.before > 0
                  ? std::ranges::find_if(all, [&](auto at) { return at < asked.before; })
                  : all.begin();
  listed.newer = static_cast<std::size_t>(next - all.begin());
  for (; next != all.end() && listed.tests.size() < asked.count; ++next)
    if (auto stored = store.record_at(*next)) listed.tests.push_back(std::move(*stored));
  if (next != all.end() && !listed.tests.empty()) listed.next_before = listed.tests.back().position;
  return listed;
}

}  // namespace endgate::daemon

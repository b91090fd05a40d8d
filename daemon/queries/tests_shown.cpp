#include "daemon/queries/tests_shown.h"

#include <deque>

#include "analysis/statistics/scatter.h"

namespace endgate::daemon {
namespace {

TestRow row_of(const schema::TrendTest& test, const schema::TrendMetric& found) {
  return {.position = test.position,
          .serial = std::string(test.serial),
          .batch = std::string(test.batch),
          .bench = std::string(test.bench),
          .verdict = std::string(test.verdict),
          .purpose = std::string(test.purpose),
          .attempt = test.attempt,
          .started_utc_ms = test.started_utc_ms,
          .value = found.value,
          .u = found.u};
}

}  // namespace

TestsShown tests_shown(const schema::StoreReader& store, const TrendFilter& filter,
                       const std::string& metric, std::size_t count) {
  std::deque<TestRow> newest;
  std::vector<double> values;
  for_each_test(store, filter, metric,
                [&](const schema::TrendTest& test, const schema::TrendMetric& found) {
                  if (test.verdict == "void" || !found.value) return;
                  values.push_back(*found.value);
                  newest.push_back(row_of(test, found));
                  if (newest.size() > count) newest.pop_front();
                });
  const statistics::Scatter all = statistics::scatter_of(values);
  return {.rows = {newest.begin(), newest.end()},
          .matching = all.n,
          .mean = all.mean,
          .sigma = all.sigma};
}

std::optional<HeldLast> limit_held_last(const schema::StoreReader& store, const std::string& model,
                                        const std::string& metric) {
  std::optional<HeldLast> last;
  for_each_test(store, {.model = model, .purpose = ""}, metric,
                [&](const schema::TrendTest&, const schema::TrendMetric& found) {
                  if (found.limit) last = {found.limit->last_bounds, found.limit->pass_band};
                });
  return last;
}

}  // namespace endgate::daemon

#include "daemon/queries/tests_shown.h"

#include <cmath>
#include <deque>

#include "analysis/sum.h"

namespace endgate::daemon {
namespace {

using Row = schema::StoreReader::TrendRow;

Row row_of(const schema::TrendTest& test, const schema::TrendMetric& found) {
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

void add_scatter(TestsShown& shown, const std::vector<double>& values) {
  shown.matching = values.size();
  shown.mean = analysis::mean_of(values);
  if (values.size() < 2) return;
  const double square = analysis::sum_over(values.size(), [&](std::size_t i) {
    return (values[i] - *shown.mean) * (values[i] - *shown.mean);
  });
  shown.sigma = std::sqrt(square / static_cast<double>(values.size() - 1));
}

}  // namespace

TestsShown tests_shown(const schema::StoreReader& store, const TrendFilter& filter,
                       const std::string& metric, std::size_t count) {
  std::deque<Row> newest;
  std::vector<double> values;
  for_each_test(store, filter, metric,
                [&](const schema::TrendTest& test, const schema::TrendMetric& found) {
                  if (test.verdict == "void" || !found.value) return;
                  values.push_back(*found.value);
                  newest.push_back(row_of(test, found));
                  if (newest.size() > count) newest.pop_front();
                });
  TestsShown shown{.rows = {newest.begin(), newest.end()}};
  add_scatter(shown, values);
  return shown;
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

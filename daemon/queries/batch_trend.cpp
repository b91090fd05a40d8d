#include "daemon/queries/batch_trend.h"

namespace endgate::daemon {

std::vector<statistics::BatchSummary> batch_trend(const schema::StoreReader& store,
                                                  const BatchQuestion& question) {
  return batch_trend(store, schema::TrendReader::open(store).get(), question);
}

std::vector<statistics::BatchSummary> batch_trend(const schema::StoreReader& store,
                                                  const schema::TrendReader* derived,
                                                  const BatchQuestion& question) {
  statistics::BatchSummaries summaries(question.lambda);
  schema::Position known = 0;
  if (derived != nullptr) {
    derived->for_each_run(question.model, question.metric, question.purpose,
                          [&](std::string_view batch, std::span<const double> values) {
                            if (!batch.empty()) summaries.add(batch, values);
                          });
    known = derived->position();
  }
  store.for_each_record_behind(known, [&](const schema::StoredRecord& stored) {
    const schema::TrendTest test = trend_test_of(stored);
    if (test.model != question.model || test.purpose != question.purpose ||
        test.verdict == "void" || test.batch.empty())
      return true;
    if (const auto value = trend_metric_of(stored.record, question.metric).value)
      summaries.add(test.batch, std::span(&*value, 1));
    return true;
  });
  return summaries.finish();
}

std::vector<statistics::BatchSummary> batch_trend(const schema::StoreReader& store,
                                                  const TrendFilter& filter,
                                                  const std::string& metric) {
  BatchQuestion question{.model = filter.model, .metric = metric, .purpose = filter.purpose};
  TrendFilter every_purpose = filter;
  every_purpose.purpose.clear();
  if (every_purpose.is_whole() && !filter.purpose.empty()) return batch_trend(store, question);
  statistics::BatchSummaries summaries(question.lambda);
  for_each_test(store, filter, metric,
                [&](const schema::TrendTest& test, const schema::TrendMetric& found) {
                  if (test.verdict == "void" || !found.value || test.batch.empty()) return;
                  summaries.add(test.batch, std::span(&*found.value, 1));
                });
  return summaries.finish();
}

std::vector<statistics::BatchSummary> rolled_batch_trend(const schema::TrendReader& derived,
                                                         const BatchQuestion& question,
                                                         std::size_t count) {
  std::vector<statistics::BatchSummary> summaries;
  double running = 0;
  for (auto& [batch, day, bench, rollup] : derived.rollups(
           question.model, question.metric, question.purpose, schema::RollupSpan::batch, count)) {
    if (batch.empty()) continue;  // tests without a batch are none
    running += summaries.empty() ? rollup.mean : question.lambda * (rollup.mean - running);
    summaries.push_back({.batch = batch,
                         .n = static_cast<std::size_t>(rollup.n),
                         .mean = rollup.mean,
                         .sigma = rollup.sigma(),
                         .p1 = rollup.quantile(0.01),
                         .p50 = rollup.quantile(0.5),
                         .p99 = rollup.quantile(0.99),
                         .running_mean = running});
  }
  return summaries;
}

}  // namespace endgate::daemon

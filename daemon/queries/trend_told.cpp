#include "daemon/queries/trend_told.h"

#include <cmath>

#include "analysis/say_number.h"
#include "analysis/statistics/cells.h"
#include "analysis/statistics/run_length.h"

namespace endgate::daemon {
namespace {

using statistics::ProductOrBench;

struct Moments {
  double n = 0, sum = 0, square = 0, corrected = 0;
};

std::vector<BatchPoint> batch_points(const statistics::TestColumns& columns,
                                     const ProductOrBench& side) {
  std::vector<Moments> moments(columns.batch.levels.size());
  const double about = columns.rows() > 0 ? columns.value.front() : 0;
  for (std::size_t row = 0; row < columns.rows(); ++row) {
    const auto batch = static_cast<std::size_t>(columns.batch.of_row[row]);
    const auto bench = static_cast<std::size_t>(columns.bench.of_row[row]);
    const double d = columns.value[row] - about;
    const bool known = bench < side.drift.size() && batch < side.drift[bench].size();
    Moments& m = moments[batch];
    m.n += 1, m.sum += d, m.square += d * d;
    m.corrected += d - (known ? side.drift[bench][batch].drift : 0);
  }
  std::vector<BatchPoint> points;
  for (std::size_t i = 0; i < moments.size(); ++i) {
    const Moments& m = moments[i];
    const double scatter = m.n > 1 ? (m.square - m.sum * m.sum / m.n) / (m.n - 1) : 0;
    points.push_back({columns.batch.levels[i], m.n, about + m.sum / m.n,
                      std::sqrt(std::max(0.0, scatter)), about + m.corrected / m.n});
  }
  return points;
}

void add_charts(TrendTold& told) {
  std::vector<double> means;
  for (const BatchPoint& point : told.batches) means.push_back(point.mean);
  told.limits = statistics::individuals_limits(means);
  if (!told.limits) return;
  const statistics::ChartLimits& limits = *told.limits;
  told.running =
      statistics::running_mean(means, limits.centre, limits.sigma, kTrendLambda, kTrendWidth);
  bool before = false;
  for (std::size_t i = 0; i < means.size(); ++i) {
    if (means[i] < limits.lower || means[i] > limits.upper) told.beyond.push_back(i);
    const bool now = std::abs(told.running.mean[i] - limits.centre) > told.running.half_width[i];
    if (now && !before) told.running_signals.push_back(i);
    before = now;
  }
}

// "−1.9 ± 0.3 L/min", expanded k = 2.
std::string change_words(const TrendTold& told, double change, double u) {
  const double size = told.metric->factor;
  const int places = analysis::places_for(2 * u * size, told.metric->decimals);
  return analysis::say_number(change * size, places) + " ± " +
         analysis::say_number(2 * u * size, places) + "\u00A0" +
         std::string(told.metric->display_unit);
}

std::string percent(double probability) {
  if (probability > 0.995) return "over 99 %";
  return analysis::say_number(100 * probability, 0) + " %";
}

std::string batch_name(const TrendTold& told, std::size_t batch) {
  return batch < told.batches.size() ? told.batches[batch].batch : "?";
}

std::string cause_name(const TrendTold& told, const statistics::Cause& cause) {
  std::string name = cause.factor;
  if (!cause.level.empty()) name += " " + cause.level;
  if (cause.since_batch)
    name += (cause.ramp ? " drifting since batch " : " since batch ") +
            batch_name(told, *cause.since_batch);
  return name;
}

}  // namespace

std::optional<TrendTold> told_of(const schema::StoreReader& store, const TrendFilter& filter,
                                 const std::string& metric) {
  TrendTold told;
  told.metric = analysis::facts_of_metric(metric);
  if (told.metric == nullptr) return std::nullopt;
  told.filter = filter;
  const MetricColumns read = columns_of(store, filter, metric);
  told.tests = read.columns.rows();
  told.causes = statistics::likely_causes(read.columns);
  told.side = statistics::product_or_bench(read.columns, read.checks);
  told.batches = batch_points(read.columns, told.side);
  told.promised_run_length = statistics::running_mean_run_length(kTrendLambda, kTrendWidth, 0);
  add_charts(told);
  return told;
}

std::string sentence_of_side(const TrendTold& told) {
  const ProductOrBench& side = told.side;
  const std::string batches = std::to_string(told.batches.size()) + " batches";
  const std::string change = change_words(told, side.change, side.u);
  const std::string since = " since batch " + batch_name(told, side.since_batch);
  const std::string surely = " (probability " + percent(side.probability) + ").";
  switch (side.said) {
    case ProductOrBench::Said::too_few:
      return batches + " with repeats are too few to tell product from bench.";
    case ProductOrBench::Said::nothing:
      if (!told.causes.none && !told.causes.causes.empty())
        return "By batch means alone nothing moved beyond chance in " + batches +
               "; held against what is recorded, something did.";
      return "Nothing moved beyond chance in " + batches + ".";
    case ProductOrBench::Said::product:
      return "The product moved by " + change + since + surely;
    case ProductOrBench::Said::bench:
      return "Bench " + side.bench + " drifted by " + change + since + surely;
    case ProductOrBench::Said::open:
      break;
  }
  return "Something moved by about " + change + since + ", but product and bench cannot be told " +
         "apart" + (side.checked ? "" : ": no reference unit was tested") + ".";
}

std::string sentence_of_causes(const TrendTold& told) {
  if (!told.causes.refusal.empty())
    return "Causes are not looked for: " + told.causes.refusal + ".";
  if (told.causes.none || told.causes.causes.empty())
    return "No recorded cause stands out beyond chance.";
  const statistics::Cause& first = told.causes.causes.front();
  // One drift has one date: that of sentence_of_side().
  if (told.side.said == ProductOrBench::Said::bench && first.factor == "bench" &&
      first.level == told.side.bench)
    return "What moved with it: bench " + first.level + " itself, " + percent(first.probability) +
           ".";
  std::string text = "Likely cause: " + cause_name(told, first) + ", " +
                     percent(first.probability) + " (" + change_words(told, first.shift, first.u) +
                     ").";
  for (const std::string& other : first.inseparable)
    text += " Not separable from it: " + other + ".";
  if (first.factor == "product") text += " Nothing that is recorded changed with it.";
  return text;
}

}  // namespace endgate::daemon

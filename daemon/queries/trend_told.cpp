#include "daemon/queries/trend_told.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "analysis/say_number.h"
#include "daemon/queries/far_tests.h"
#include "daemon/queries/in_batches.h"

namespace endgate::daemon {
namespace {

using statistics::ProductOrBench;

std::vector<BatchPoint> without_bench(std::vector<BatchPoint> points) {
  for (BatchPoint& point : points) point.mean = point.mean_without_bench;
  return points;
}

// "−1.9 ± 0.3 L/min", expanded k = 2.
std::string change_words(const TrendTold& told, double change, double u) {
  const double size = told.metric->factor;
  const int places = analysis::places_for(2 * u * size, told.metric->decimals);
  return analysis::say_number(change * size, places) + " ± " +
         analysis::say_number(2 * u * size, places) + "\u00A0" +
         std::string(told.metric->display_unit);
}

bool has_repeats(const statistics::TestColumns& columns) {
  std::set<std::pair<int, int>> seen;
  for (std::size_t row = 0; row < columns.rows(); ++row)
    if (!seen.insert({columns.batch.of_row[row], columns.bench.of_row[row]}).second) return true;
  return false;
}

// What the side says, the causes do not contradict.
std::optional<std::vector<std::string>> benches_to_blame(const ProductOrBench& side) {
  if (side.said == ProductOrBench::Said::bench) return std::vector<std::string>{side.bench};
  if (side.said == ProductOrBench::Said::product) return std::vector<std::string>{};
  return std::nullopt;
}

std::string too_few_words(const TrendTold& told) {
  const std::string few = std::to_string(told.batches.size());
  if (!told.repeated && !told.batches.empty())
    return "Product and bench cannot be told apart: no bench tested two units of one batch. Test "
           "at least two units of a batch on each bench.";
  return few + (told.batches.size() == 1 ? " batch is" : " batches are") +
         " too few to tell product from bench.";
}

std::string batch_name(const TrendTold& told, std::size_t batch) {
  return batch < told.batches.size() ? told.batches[batch].batch : "?";
}

// "14 batches", "the newest 120 of 400 batches".
std::string batches_words(const TrendTold& told, std::size_t first) {
  const std::size_t all = told.batches.size();
  const std::string words = std::to_string(all) + (all == 1 ? " batch" : " batches");
  return first == 0 ? words : "the newest " + std::to_string(all - first) + " of " + words;
}

// Empty when all were.
std::string looked_at(const TrendTold& told, std::size_t first) {
  return first == 0 ? "" : " Looked at: " + batches_words(told, first) + ".";
}

std::string cause_name(const TrendTold& told, const statistics::TrendCause& cause) {
  std::string name = cause.factor;
  if (!cause.level.empty()) name += " " + cause.level;
  if (cause.since_batch)
    name += (cause.ramp ? " drifting since batch " : " since batch ") +
            batch_name(told, *cause.since_batch);
  return name;
}

}  // namespace

std::optional<TrendTold> told_of(const schema::StoreReader& store, const TrendFilter& filter,
                                 const std::string& metric, std::vector<ControlVersion> versions) {
  TrendTold told;
  told.metric = analysis::facts_of_metric(metric);
  if (told.metric == nullptr) return std::nullopt;
  told.filter = filter;
  const auto [read, without_batch] = in_batches(columns_of(store, filter, metric));
  told.tests = read.columns.rows();
  told.without_batch = without_batch;
  const auto [near, far] = without_far(read.columns);
  told.far = far;
  told.repeated = has_repeats(near);
  const auto go_on = [&store] { store.hold_to_deadline(); };
  told.side = statistics::product_or_bench(near, read.checks, go_on);
  told.causes = statistics::trend_causes(near, go_on, benches_to_blame(told.side));
  told.batches = batch_points(read.columns, told.side);
  told.control = control_told(told.batches, std::move(versions));
  told.control_without_bench = control_told(without_bench(told.batches), {});
  return told;
}

bool bench_taken_out(const TrendTold& told) {
  constexpr double kNothing = 1e-9;  // of a mean: rounding
  return std::ranges::any_of(told.batches, [](const BatchPoint& point) {
    return std::abs(point.mean - point.mean_without_bench) > kNothing * std::abs(point.mean);
  });
}

std::string sentence_without_batch(const TrendTold& told) {
  if (told.without_batch == 0) return "";
  return told.without_batch == 1 ? "1 test without a batch is on no chart and judged nowhere."
                                 : std::to_string(told.without_batch) +
                                       " tests without a batch are on no chart and judged nowhere.";
}

std::string sentence_of_far(const TrendTold& told) {
  if (told.far == 0) return "";
  return told.far == 1
             ? "1 test far from all others is on the charts and not asked for causes."
             : std::to_string(told.far) +
                   " tests far from all others are on the charts and not asked for causes.";
}

std::string sentence_of_side(const TrendTold& told) {
  const ProductOrBench& side = told.side;
  const std::string batches = batches_words(told, side.first_batch);
  const std::string not_all = looked_at(told, side.first_batch);
  const std::string change = change_words(told, side.change, side.u);
  const std::string since = " since batch " + batch_name(told, side.since_batch);
  const std::string surely =
      " (probability " + analysis::say_probability(side.probability) + ")." + not_all;
  switch (side.said) {
    case ProductOrBench::Said::too_few:
      return too_few_words(told);
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
         "apart" + (side.checked ? "" : ": no reference unit was tested") + "." + not_all;
}

std::string sentence_of_causes(const TrendTold& told) {
  if (!told.causes.refusal.empty())
    return "Causes are not looked for: " + told.causes.refusal + ".";
  const std::string not_all = looked_at(told, told.causes.first_batch);
  if (told.causes.none || told.causes.causes.empty())
    return "No recorded cause stands out beyond chance." + not_all;
  const statistics::TrendCause& first = told.causes.causes.front();
  // One drift has one date: that of sentence_of_side().
  if (told.side.said == ProductOrBench::Said::bench && first.factor == "bench" &&
      first.level == told.side.bench)
    return "What moved with it: bench " + first.level + " itself, " +
           analysis::say_probability(first.probability) + "." + not_all;
  std::string text = "Likely cause: " + cause_name(told, first) + ", " +
                     analysis::say_probability(first.probability) + " (" +
                     change_words(told, first.shift, first.u) + ").";
  for (const std::string& other : first.inseparable)
    text += " Not separable from it: " + other + ".";
  if (first.factor == "product") text += " Nothing that is recorded changed with it.";
  return text + not_all;
}

}  // namespace endgate::daemon

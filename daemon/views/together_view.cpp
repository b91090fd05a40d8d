#include "daemon/views/together_view.h"

#include <algorithm>
#include <cmath>

#include "daemon/views/shown.h"
#include "daemon/views/trend_charts_view.h"
#include "reports/number.h"

namespace endgate::daemon {
namespace {

constexpr std::size_t kListed = 12;

reports::BatchChart chart_of(const TogetherTold& told, const std::string& description) {
  const std::size_t all = told.joint.batches.size();
  const std::size_t first = all - std::min(all, kBatchesDrawn);
  reports::BatchChart chart{.description = description, .unit = "Distance, squared"};
  for (std::size_t i = first; i < all; ++i) {
    chart.names.push_back({static_cast<double>(i - first), told.names[i]});
    chart.values.push_back(told.joint.batches[i].distance);
  }
  chart.low.assign(chart.values.size(), 0);
  chart.high.assign(chart.values.size(), told.joint.limit);
  for (const std::size_t at : signals_of(told))
    if (at >= first) chart.signals.push_back(at - first);
  chart.width = 1290;
  return chart;
}

reports::WordTable table_of(const TogetherTold& told) {
  reports::WordTable table{.heading = "Beyond the limit of all together",
                           .columns = {"Batch", "Distance, squared", "Mostly by"}};
  const std::vector<std::size_t> signals = signals_of(told);
  for (std::size_t i = 0; i < std::min(kListed, signals.size()); ++i) {
    const std::size_t at = signals[signals.size() - 1 - i];
    table.rows.push_back({told.names[at], reports::fixed(told.joint.batches[at].distance, 1),
                          words_of_batch(told, at)});
  }
  if (signals.size() > kListed)
    table.heading +=
        ", the newest " + std::to_string(kListed) + " of " + std::to_string(signals.size());
  return table;
}

}  // namespace

reports::TogetherPart together_part(const TogetherTold& told) {
  reports::TogetherPart part{.heading = "Several metrics together",
                             .short_name = "Hotelling T\u00B2 of batch means",
                             .sentence = sentence_of(told)};
  if (!told.refusal.empty()) return part;
  part.words =
      "How far each batch lies from the mean of all, allowing for how these metrics go "
      "together. Shaded: up to the limit, " +
      reports::fixed(told.joint.limit, 1) + "; one false signal in " +
      reports::fixed(1 / statistics::kJointFalseAlarm, 0) +
      " batches when nothing moves. Mean and scatter come from the batches shown.";
  part.chart = chart_of(told, part.sentence);
  part.signals = table_of(told);
  return part;
}

}  // namespace endgate::daemon

#include "daemon/queries/together_told.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <numeric>
#include <sstream>

#include "analysis/metric_facts.h"
#include "analysis/say_number.h"
#include "daemon/queries/batch_points.h"

namespace endgate::daemon {
namespace {

constexpr double kWorthNaming = 0.2;  // of the distance that a metric takes with it

std::string name_of(const std::string& metric) {
  const analysis::MetricFacts* facts = analysis::facts_of_metric(metric);
  return facts == nullptr ? metric : std::string(facts->sentence_name);
}

std::string joined(const std::vector<std::string>& words) {
  std::string all;
  for (std::size_t i = 0; i < words.size(); ++i)
    all += (i == 0 ? "" : (i + 1 == words.size() ? " and " : ", ")) + words[i];
  return all;
}

// Values of each test that has all metrics, by position, and the name of its batch.
struct Complete {
  std::map<schema::Position, std::vector<double>> values{};
  std::map<schema::Position, std::string> batch{};
};

Complete complete_of(const schema::StoreReader& store, const TrendFilter& filter,
                     const std::vector<std::string>& metrics) {
  Complete out;
  for (const std::string& metric : metrics)
    for_each_test(store, filter, metric,
                  [&](const schema::TrendTest& test, const schema::TrendMetric& found) {
                    if (!found.value || test.verdict == "void" || test.batch.empty()) return;
                    out.values[test.position].push_back(*found.value);
                    out.batch.try_emplace(test.position, test.batch);
                  });
  return out;
}

std::string refusal_of(const TogetherTold& told) {
  using Refused = statistics::JointBatches::Refused;
  if (told.joint.refused == Refused::too_few)
    return std::to_string(told.metrics.size()) + " metrics together need " +
           std::to_string(told.joint.needed) + " batches; here are " +
           std::to_string(told.names.size()) + ". Widen the span or choose fewer metrics.";
  if (told.joint.refused == Refused::alike)
    return "One of these metrics does not scatter or follows from the others: " +
           joined(told.metrics) + ". Leave one out.";
  return "";
}

}  // namespace

MetricList metrics_together(const std::string& first, const std::string& words) {
  std::vector<std::string> metrics{first};
  std::istringstream in(words == kCurve ? "fad_200 fad_400 fad_600" : words);
  for (std::string name; in >> name;) {
    if (analysis::facts_of_metric(name) == nullptr)
      return "There is no metric " + name + ". Name metrics as in the form, or " + kCurve + ".";
    if (std::ranges::find(metrics, name) == metrics.end()) metrics.push_back(name);
  }
  if (metrics.size() < 2)
    return "Name at least one metric more than " + first + ", or " + kCurve + ".";
  return metrics;
}

TogetherTold together_of(const schema::StoreReader& store, const TrendFilter& filter,
                         const std::vector<std::string>& metrics) {
  TogetherTold told{.metrics = metrics};
  Complete found = complete_of(store, filter, metrics);
  told.incomplete = std::erase_if(
      found.values, [&](const auto& test) { return test.second.size() < metrics.size(); });
  told.tests = found.values.size();
  Eigen::MatrixXd units(static_cast<Eigen::Index>(told.tests),
                        static_cast<Eigen::Index>(metrics.size()));
  std::vector<std::size_t> batch;
  std::map<std::string, std::size_t> place;  // of a batch in told.names
  for (const auto& [position, values] : found.values) {
    const std::string& name = found.batch.at(position);
    const auto row = static_cast<Eigen::Index>(batch.size());
    const auto [known, is_new] = place.try_emplace(name, told.names.size());
    batch.push_back(known->second);
    if (is_new) told.names.push_back(name);
    for (std::size_t i = 0; i < values.size(); ++i)
      units(row, static_cast<Eigen::Index>(i)) = values[i];
  }
  told.joint = statistics::joint_batches(units, batch);
  told.refusal = refusal_of(told);
  return told;
}

std::vector<std::size_t> signals_of(const TogetherTold& told) {
  std::vector<std::size_t> at;
  for (std::size_t i = 0; i < told.joint.batches.size(); ++i)
    if (told.joint.batches[i].distance > told.joint.limit) at.push_back(i);
  return at;
}

std::string sentence_of(const TogetherTold& told) {
  if (!told.refusal.empty()) return told.refusal;
  std::vector<std::string> names;
  for (const std::string& metric : told.metrics) names.push_back(name_of(metric));
  const std::size_t beyond = signals_of(told).size();
  const std::string all = std::to_string(told.names.size());
  std::string text = beyond == 0 ? "None of " + all + " batches lies beyond the limit in "
                                 : std::to_string(beyond) + " of " + all +
                                       (beyond == 1 ? " batches is" : " batches are") +
                                       " not like the others in ";
  text += joined(names) + " together.";
  if (told.incomplete > 0)
    text += " Tests that lack one of them: " + std::to_string(told.incomplete) + ".";
  return text;
}

std::string words_of_batch(const TogetherTold& told, std::size_t batch) {
  const statistics::JointBatch& judged = told.joint.batches[batch];
  std::vector<Eigen::Index> order(told.metrics.size());
  std::iota(order.begin(), order.end(), 0);
  std::ranges::sort(order, std::greater(), [&](Eigen::Index i) { return judged.shares(i); });
  std::vector<std::string> words;
  for (const Eigen::Index i : order) {
    if (!words.empty() && judged.shares(i) < kWorthNaming * judged.distance) continue;
    words.push_back(name_of(told.metrics[static_cast<std::size_t>(i)]) + " " +
                    analysis::say_number(std::abs(judged.apart(i)), 1) +
                    (judged.apart(i) < 0 ? " lower" : " higher"));
  }
  return joined(words) + " than the others of these metrics let expect, in standard deviations";
}

}  // namespace endgate::daemon

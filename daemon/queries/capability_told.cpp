#include "daemon/queries/capability_told.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "analysis/statistics/scatter.h"
#include "analysis/statistics/tolerance.h"
#include "analysis/sum.h"
#include "daemon/queries/first_tests.h"

namespace endgate::daemon {
namespace {

constexpr std::size_t kLeastUnits = 10;
constexpr double kLeastFreedom = 5;  // for a scatter inside batches

struct Batch {
  double n = 0, sum = 0, square = 0;
};

struct FirstTest {
  std::string serial, batch;
  double value = 0;
};

std::vector<double> values_of(const std::vector<FirstTest>& tests) {
  std::vector<double> values;
  for (const FirstTest& test : tests) values.push_back(test.value);
  return values;
}

// Moves the few that lie far from all others out of `tests`.
std::vector<FarUnit> take_far_units(std::vector<FirstTest>& tests) {
  std::vector<FarUnit> far;
  const std::vector<std::size_t> found = statistics::far_values(values_of(tests));
  for (const std::size_t i : found) far.push_back({tests[i].serial, tests[i].value});
  for (auto i = found.rbegin(); i != found.rend(); ++i)
    tests.erase(tests.begin() + static_cast<std::ptrdiff_t>(*i));
  return far;
}

std::optional<double> centred_of(const std::vector<double>& values,
                                 const statistics::Bounds& bounds) {
  if (!bounds.lower && !bounds.upper) return std::nullopt;
  const statistics::Scatter all = statistics::scatter_of(values);
  const double n = static_cast<double>(all.n);
  return statistics::centred_index(bounds, all.mean.value(), all.sigma.value(), n).value;
}

// Within and between batches by moments; n0 is the typical size of a batch.  A unit of no batch is
// like none but itself.
void add_scatter(CapabilityTold& told, const std::vector<Batch>& batches) {
  const double n = static_cast<double>(told.values.size()), a = static_cast<double>(batches.size());
  double within = 0, between = 0, sizes = 0;
  for (const Batch& b : batches) {
    const double mean = b.sum / b.n;
    within += b.square - b.n * mean * mean;
    between += b.n * mean * mean;  // values are about the mean of all
    sizes += b.n * b.n;
  }
  const bool repeated = n - a >= kLeastFreedom;
  told.sigma_overall = std::sqrt((within + between) / (n - 1));
  told.sigma_within = repeated ? std::sqrt(within / (n - a)) : told.sigma_overall;
  told.effective_n = n;
  if (a < 2 || !repeated) return;
  const double n0 = (n - sizes / n) / (a - 1);
  const double inside = told.sigma_within * told.sigma_within;
  const double batch = std::max(0.0, (between / (a - 1) - inside) / n0);
  const double alike = batch + inside > 0 ? batch / (batch + inside) : 0;
  told.effective_n = std::max(2.0, n / (1 + (n0 - 1) * alike));
}

// One of each batch and one of each unit without any.
std::vector<Batch> batches_of(CapabilityTold& told, const std::vector<FirstTest>& tests) {
  std::vector<Batch> all;
  std::map<std::string, std::size_t> named;
  for (std::size_t i = 0; i < tests.size(); ++i) {
    const bool known = !tests[i].batch.empty() && named.contains(tests[i].batch);
    const std::size_t place = known ? named[tests[i].batch] : all.size();
    if (!known) all.emplace_back();
    if (tests[i].batch.empty())
      ++told.without_batch;
    else
      named[tests[i].batch] = place;
    const double d = told.values[i] - told.mean;
    all[place].n += 1, all[place].sum += d, all[place].square += d * d;
  }
  told.batches = named.size();
  return all;
}

void add_indices(CapabilityTold& told) {
  const statistics::Bounds& b = told.bounds;
  const double n = told.effective_n;
  if (b.lower && b.upper) {
    told.spread_within = statistics::spread_index(b, told.sigma_within, n);
    told.spread_overall = statistics::spread_index(b, told.sigma_overall, n);
  }
  if (!b.lower && !b.upper) return;
  told.centred_within = statistics::centred_index(b, told.mean, told.sigma_within, n);
  told.centred_overall = statistics::centred_index(b, told.mean, told.sigma_overall, n);
  const statistics::Percentiles percentiles = statistics::percentiles_of(told.values);
  told.form = percentiles.form;
  if (told.form != statistics::Percentiles::Form::normal)
    told.percentile = statistics::percentile_index(b, percentiles);
}

// Values whose form nobody knows give bounds by their order, in each case the outermost that holds.
void add_proposal_by_order(CapabilityTold& told, const statistics::Coverage& each, bool lower,
                           bool upper) {
  const std::size_t rank =
      statistics::tolerance_rank(static_cast<std::size_t>(told.effective_n), each);
  if (rank == 0) return;
  std::vector<double> values = told.values;
  std::ranges::sort(values);
  if (lower) told.proposed_lower = values[rank - 1];
  if (upper) told.proposed_upper = values[values.size() - rank];
}

void add_proposal(CapabilityTold& told) {
  const bool both = told.bounds.lower.has_value() == told.bounds.upper.has_value();
  const bool lower = both || told.bounds.lower, upper = both || told.bounds.upper;
  const statistics::Coverage coverage{0.99, 0.95};
  if (told.skew) {
    // Two bounds share what may lie beyond and what may go wrong.
    const statistics::Coverage half{(1 + coverage.share) / 2, (1 + coverage.confidence) / 2};
    return add_proposal_by_order(told, both ? half : coverage, lower, upper);
  }
  const double k = both ? statistics::tolerance_factor_two_sided(told.effective_n, coverage)
                        : statistics::tolerance_factor_one_sided(told.effective_n, coverage);
  if (lower) told.proposed_lower = told.mean - k * told.sigma_overall;
  if (upper) told.proposed_upper = told.mean + k * told.sigma_overall;
}

}  // namespace

std::optional<CapabilityTold> capability_of(const schema::StoreReader& store,
                                            const TrendFilter& filter, const std::string& metric) {
  CapabilityTold told;
  told.metric = analysis::facts_of_metric(metric);
  if (told.metric == nullptr) return std::nullopt;
  told.model = filter.model;
  std::vector<FirstTest> tests;
  for_each_first_test(
      store, filter, metric, [&](const schema::TrendTest& test, const schema::TrendMetric& found) {
        if (found.limit)
          told.bounds = {found.limit->last_bounds.lower, found.limit->last_bounds.upper};
        if (!found.value) return;
        tests.push_back({std::string(test.serial), std::string(test.batch), *found.value});
      });
  if (tests.size() >= kLeastUnits) {
    const std::vector<double> all = values_of(tests);
    told.left_out = take_far_units(tests);
    if (!told.left_out.empty()) told.centred_with_all = centred_of(all, told.bounds);
  }
  told.values = values_of(tests);
  told.mean = analysis::mean_of(told.values).value_or(0);
  const std::vector<Batch> batches = batches_of(told, tests);
  if (told.values.size() < kLeastUnits) return told;
  add_scatter(told, batches);
  if (!(told.sigma_within > 0)) return told;
  told.skew = std::abs(statistics::skewness(told.values)) > statistics::kSkew;
  add_indices(told);
  add_proposal(told);
  return told;
}

}  // namespace endgate::daemon

#include "analysis/compare_tests.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>

#include "analysis/grade_words.h"
#include "analysis/say_number.h"
#include "analysis/sum.h"
#include "analysis/uncertainty_cause.h"

namespace endgate::analysis {
namespace {

constexpr const char* kOfTheForm = "model";

bool belongs_to_one_test(const std::string& cause) {
  return is_random(cause) || cause == kOfTheForm;
}

// What a test has in common with others, by cause and signed; everything else is its own.
std::map<std::string, double> shareable(const Metric& metric) {
  std::map<std::string, Sum> sums;
  for (const UncertaintyPart& part : metric.parts)
    if (!belongs_to_one_test(part.cause)) sums[part.cause].add(part.u);
  std::map<std::string, double> causes;
  for (const auto& [cause, sum] : sums) causes[cause] = sum.value();
  return causes;
}

double own_square(const Metric& metric, const std::map<std::string, double>& causes) {
  Sum shared;
  for (const auto& [cause, u] : causes) shared.add(u * u);
  return std::max(0.0, *metric.u * *metric.u - shared.value());
}

void add_uncertainty(Difference& difference, const Metric& birth, const Metric& later) {
  if (!birth.u || !later.u) return;
  const std::map<std::string, double> before = shareable(birth), after = shareable(later);
  Sum square;
  square.add(own_square(birth, before));
  square.add(own_square(later, after));
  for (const auto& [cause, u] : before) {
    const auto found = after.find(cause);
    const double left = found == after.end() ? u : found->second - u;
    square.add(left * left);
    if (found != after.end()) difference.common.push_back(cause);
  }
  for (const auto& [cause, u] : after)
    if (!before.contains(cause)) square.add(u * u);
  if (square.value() <= 0) return;
  difference.u = std::sqrt(square.value());
  difference.e_n = difference.change / (2 * *difference.u);
}

const Metric* find(std::span<const Metric> metrics, const std::string& id) {
  const auto found = std::ranges::find(metrics, id, &Metric::id);
  return found == metrics.end() || !found->value ? nullptr : &*found;
}

double size_of(const Difference& difference) { return std::abs(difference.e_n.value_or(0)); }

std::string change_words(const Difference& worst) {
  const std::string name = capitalised(words_of_metric(worst.metric).name);
  const char* const way = worst.change < 0 ? " lower" : " higher";
  if (worst.birth == 0) return name + " is" + way + " than at birth";
  const double per_cent = 100 * std::abs(worst.change / worst.birth);
  return name + " is " + say_number(per_cent, 1) + "\u00A0%" + way + " than at birth";
}

std::string first_sentence(std::span<const Difference> all) {
  const std::string count = std::to_string(all.size());
  if (all.empty()) return "Nothing was measured in both tests.";
  if (std::ranges::none_of(all, [](const Difference& one) { return one.e_n.has_value(); }))
    return "No uncertainty is known, so nothing can be said of " + count + " changes.";
  const auto significant = std::ranges::count_if(all, &Difference::significant);
  if (significant == 0)
    return "None of " + count + " metrics differs from birth by more than its uncertainty.";
  const Difference& worst = *std::ranges::max_element(all, {}, size_of);
  return change_words(worst) + ", " + say_number(size_of(worst), 1) + " times its uncertainty; " +
         std::to_string(significant) + " of " + count + " metrics differ by more than theirs.";
}

// Empty: one bench, and nothing of it was taken out.
std::string bench_sentence(std::span<const Difference> all, bool other_bench) {
  const auto corrected =
      std::ranges::count_if(all, [](const Difference& one) { return one.bench.has_value(); });
  if (corrected == 0)
    return other_bench ? " The benches differ; what they read differently is not taken out." : "";
  const std::string what = other_bench ? " The benches differ; what they read differently is"
                                       : " What the bench reads differently since then is";
  if (corrected == std::ssize(all)) return what + " taken out.";
  return what + " taken out of " + std::to_string(corrected) + " of " + std::to_string(all.size()) +
         " metrics.";
}

}  // namespace

void take_out(Difference& difference, double reads_more, double u) {
  difference.change -= reads_more;
  difference.bench = reads_more;
  difference.bench_u = u;
  if (!difference.u) return;
  difference.u = std::hypot(*difference.u, u);
  difference.e_n = difference.change / (2 * *difference.u);
}

std::vector<Difference> differences(std::span<const Metric> birth, std::span<const Metric> later) {
  std::vector<Difference> all;
  for (const Metric& before : birth) {
    const Metric* after = before.value ? find(later, before.id) : nullptr;
    if (after == nullptr) continue;
    all.push_back(
        {.metric = before.id, .birth = *before.value, .change = *after->value - *before.value});
    add_uncertainty(all.back(), before, *after);
  }
  return all;
}

std::string birth_sentence(std::span<const Difference> all, const ComparedWith& with) {
  std::string words = first_sentence(all);
  if (with.later_void) words += " The test was void; what was complete is compared.";
  return words + bench_sentence(all, with.other_bench);
}

}  // namespace endgate::analysis

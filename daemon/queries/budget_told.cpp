#include "daemon/queries/budget_told.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <string_view>
#include <utility>

#include "analysis/uncertainty_cause.h"

namespace endgate::daemon {
namespace {

constexpr double kWorthALine = 1e-4;  // of u^2

// As analysis/uncertainty_by_cause.h and analysis/duty_run.h name them.
constexpr std::array<std::pair<std::string_view, std::string_view>, 4> kPlainCauses{
    {{"correction thermal", "correction to the warm state"},
     {"correction reference", "correction to reference voltage and barometer"},
     {"model", "what the form of the curve cannot follow"},
     {"one warm body", "a heating curve of one warm body"}}};

// "north@2" -> "bench north, version 2"
std::string bench_words(std::string_view id) {
  const std::size_t at = id.rfind('@');
  const std::string bench = "bench " + std::string(id.substr(0, at));
  return at == std::string_view::npos ? bench
                                      : bench + ", version " + std::string(id.substr(at + 1));
}

// "calibration north@2/flow", "constants north@2"
std::string words_of_accepted(std::string_view cause) {
  const std::size_t space = cause.find(' ');
  std::string_view id = cause.substr(space + 1);
  if (cause.starts_with("constants ")) return "receivers and leaks of " + bench_words(id);
  const std::size_t slash = id.find('/');
  if (slash == std::string_view::npos) return "calibration of " + bench_words(id);
  std::string channel(id.substr(slash + 1));
  std::ranges::replace(channel, '_', ' ');
  return "calibration of " + channel + ", " + bench_words(id.substr(0, slash));
}

void add(std::vector<BudgetLine>& lines, const std::string& cause, double u) {
  const auto found = std::ranges::find(lines, cause, &BudgetLine::cause);
  if (found == lines.end())
    lines.push_back({cause, std::abs(u), 0});
  else
    found->u = std::hypot(found->u, u);
}

Budget budget_of(const schema::MetricValue& metric) {
  Budget budget{.metric = metric.id, .value = metric.value, .u = *metric.u};
  double left = budget.u * budget.u;
  for (const schema::UncertaintyPart& part : metric.parts) {
    add(budget.lines, words_of_cause(part.cause), part.u);
    left -= part.u * part.u;
  }
  if (left > kWorthALine * budget.u * budget.u)
    add(budget.lines, "not attributed", std::sqrt(left));
  for (BudgetLine& line : budget.lines) line.share = line.u * line.u / (budget.u * budget.u);
  std::erase_if(budget.lines, [](const BudgetLine& line) { return line.share < kWorthALine; });
  std::ranges::stable_sort(budget.lines, std::greater<>(), &BudgetLine::share);
  return budget;
}

}  // namespace

std::string words_of_cause(const std::string& cause) {
  for (const auto& [name, words] : kPlainCauses)
    if (cause == name) return std::string(words);
  if (analysis::is_random(cause)) return "scatter within the test";
  if (cause.starts_with("calibration ") || cause.starts_with("constants "))
    return words_of_accepted(cause);
  return cause;
}

std::vector<Budget> budgets_of(const schema::Record& record) {
  std::vector<Budget> budgets;
  for (const schema::MetricValue& metric : record.metrics)
    if (metric.value && metric.u && *metric.u > 0) budgets.push_back(budget_of(metric));
  return budgets;
}

}  // namespace endgate::daemon

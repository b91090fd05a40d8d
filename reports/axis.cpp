#include "reports/axis.h"

#include <algorithm>
#include <cmath>

namespace endgate::reports {
namespace {

double step_for(double span, int wanted) {
  const double rough = span / std::max(1, wanted);
  const double decade = std::pow(10.0, std::floor(std::log10(rough)));
  for (const double factor : {1.0, 2.0, 5.0})
    if (factor * decade >= rough * (1 - 1e-9)) return factor * decade;
  return 10 * decade;
}

Span not_empty(double low, double high) {
  if (!std::isfinite(low) || !std::isfinite(high)) return {0, 1};
  if (high - low > 1e-12 * std::max(std::abs(low), std::abs(high))) return {low, high};
  const double half = std::max(std::abs(low) * 0.05, 1e-9);
  return {low - half, high + half};
}

}  // namespace

Ticks ticks(double low, double high, int wanted) {
  const Span span = not_empty(low, high);
  const double step = step_for(span.high - span.low, wanted);
  Ticks result;
  result.decimals = std::max(0, -static_cast<int>(std::floor(std::log10(step) + 1e-9)));
  const double first = std::ceil(span.low / step - 1e-9);
  for (double n = first; n * step <= span.high + 1e-9 * step; ++n)
    result.values.push_back(n * step);
  return result;
}

Span widened(double low, double high, int wanted) {
  const Span span = not_empty(low, high);
  const double step = step_for(span.high - span.low, wanted);
  return {std::floor(span.low / step + 1e-9) * step, std::ceil(span.high / step - 1e-9) * step};
}

}  // namespace endgate::reports

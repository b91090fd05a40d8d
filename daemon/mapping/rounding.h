// Is this number the same but for rounding?  R-2 of daemon/mapping/replay.h: another build or
// processor may differ by 1e-9 of a value or 1e-6 of its u, whichever is larger, and by 1e-6 of u
// in u itself.

#pragma once

#include <algorithm>
#include <cmath>

#include "schema/facts.h"

namespace endgate::daemon {

[[nodiscard]] inline double rounding_of(const schema::MetricValue& then) {
  return std::max(1e-9 * std::abs(then.value.value_or(0)), 1e-6 * then.u.value_or(0));
}

[[nodiscard]] inline bool within(const std::optional<double>& a, const std::optional<double>& b,
                                 double tolerance) {
  if (!a || !b) return a.has_value() == b.has_value();
  return std::abs(*a - *b) <= tolerance;
}

[[nodiscard]] inline bool same_value(const schema::MetricValue& then,
                                     const schema::MetricValue& now) {
  return within(then.value, now.value, rounding_of(then));
}
[[nodiscard]] inline bool same_u(const schema::MetricValue& then, const schema::MetricValue& now) {
  return within(then.u, now.u, 1e-6 * then.u.value_or(0));
}

}  // namespace endgate::daemon

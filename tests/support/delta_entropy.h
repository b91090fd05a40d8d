// How few bytes could a trace take when every number is told apart from its neighbour at best?
//
// Order-0 entropy (Shannon 1948, H = -sum p log2 p) of the values themselves, their differences or
// the differences of those, whichever is least, for each channel's numbers and for each set of
// times that channels share.  Quality, names and marks count nothing.

#pragma once

#include <algorithm>
#include <cmath>
#include <map>
#include <vector>

#include "schema/trace.h"

namespace endgate::test {

inline double entropy_bytes(const std::vector<std::int64_t>& values) {
  std::map<std::int64_t, double> counts;
  for (const std::int64_t value : values) ++counts[value];
  double bits = 0;
  for (const auto& [value, count] : counts)
    bits -= count * std::log2(count / static_cast<double>(values.size()));
  return bits / 8;
}

inline double best_delta_bytes(std::vector<std::int64_t> values) {
  double best = entropy_bytes(values);
  for (int order = 0; order < 2 && values.size() > 1; ++order) {
    for (std::size_t i = values.size() - 1; i > 0; --i) values[i] -= values[i - 1];
    values.erase(values.begin());
    best = std::min(best, entropy_bytes(values));
  }
  return best;
}

inline double delta_entropy_bytes(const schema::Trace& trace) {
  double bytes = 0;
  std::vector<std::vector<std::int64_t>> times;
  for (const schema::TraceColumn& column : trace.columns) {
    bytes += best_delta_bytes(column.raw);
    if (std::ranges::find(times, column.time_us) != times.end()) continue;
    times.push_back(column.time_us);
    bytes += best_delta_bytes(column.time_us);
  }
  return bytes;
}

}  // namespace endgate::test

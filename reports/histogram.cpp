#include "reports/histogram.h"

#include <algorithm>
#include <cmath>

#include "reports/plane.h"
#include "reports/shapes.h"

namespace endgate::reports {
namespace {

struct Bins {
  double low = 0, width = 1;
  std::vector<std::size_t> counts{};
};

// About as many as the square root of the values, of one width; values that are all alike are one.
Bins bins_of(const std::vector<double>& values) {
  const auto [low, high] = std::minmax_element(values.begin(), values.end());
  if (!(*high > *low)) {
    const double width = std::max(1e-3 * std::abs(*low), 1e-9);
    return {*low - width / 2, width, {values.size()}};
  }
  const double wanted = std::clamp(std::sqrt(static_cast<double>(values.size())), 8.0, 60.0);
  const auto count = static_cast<std::size_t>(wanted);
  Bins bins{*low, (*high - *low) / static_cast<double>(count), {}};
  bins.counts.assign(count, 0);
  for (const double value : values)
    ++bins.counts[std::min(count - 1, static_cast<std::size_t>((value - *low) / bins.width))];
  return bins;
}

Plane plane_of_bins(const Histogram& histogram, const Bins& bins) {
  double low = bins.low, high = bins.low + bins.width * static_cast<double>(bins.counts.size());
  for (const HistogramBound& bound : histogram.bounds)
    low = std::min(low, bound.at), high = std::max(high, bound.at);
  const double pad = 0.03 * (high - low);
  const auto most = static_cast<double>(*std::ranges::max_element(bins.counts));
  return plane_of(histogram.width, histogram.height, {.top = 66}, {low - pad, high + pad},
                  {0, widened(0, most, 4).high});
}

void draw_bins(Node& svg, const Plane& plane, const Bins& bins) {
  for (std::size_t i = 0; i < bins.counts.size(); ++i) {
    if (bins.counts[i] == 0) continue;
    const double from = bins.low + bins.width * static_cast<double>(i);
    const double left = plane.x.at(from), right = plane.x.at(from + bins.width);
    const double top = plane.y.at(static_cast<double>(bins.counts[i]));
    svg.add(rect(left, top, std::max(1.0, right - left - 1), plane.y.from - top, "bin"));
  }
}

void draw_bound(Node& svg, const Plane& plane, const HistogramBound& bound) {
  const double x = plane.x.at(bound.at), top = plane.y.to - (bound.draft ? 24 : 4);
  const bool leftward = x > (plane.x.from + plane.x.to) / 2;
  svg.add(segment({x, plane.y.from}, {x, top}, bound.draft ? "edge draft" : "edge"));
  svg.add(label({x + (leftward ? -8 : 8), top + 4}, bound.words,
                leftward ? "end-label end" : "end-label"));
}

}  // namespace

Node draw(const Histogram& histogram) {
  Node svg = drawing(histogram.width, histogram.height, "chart", histogram.description);
  if (histogram.values.empty()) return svg;
  const Bins bins = bins_of(histogram.values);
  const Plane plane = plane_of_bins(histogram, bins);
  draw_rows(svg, plane, "Units", 4);
  draw_numbers_below(svg, plane, histogram.quantity, 10);
  draw_bins(svg, plane, bins);
  for (const HistogramBound& bound : histogram.bounds) draw_bound(svg, plane, bound);
  return svg;
}

}  // namespace endgate::reports

#include "reports/residual_chart.h"

#include <algorithm>
#include <cmath>

#include "reports/axis.h"
#include "reports/number.h"
#include "reports/shapes.h"

namespace endgate::reports {
namespace {

constexpr double kLeft = 80, kRight = 24, kTop = 34, kBottom = 60;

struct Frame {
  Axis x, y;
};

Frame frame_of(const ResidualChart& chart) {
  double least = chart.spots.front().reading, most = least, high = 0;
  for (const ResidualSpot& spot : chart.spots) {
    least = std::min(least, spot.reading);
    most = std::max(most, spot.reading);
    high = std::max(high, std::abs(spot.residual) + spot.expanded_u);
  }
  for (const ResidualBand& band : chart.band) high = std::max(high, band.half);
  const double pad = 0.05 * (most - least);
  const Span y = widened(-1.05 * high, 1.05 * high, 5);
  return {.x = {least - pad, most + pad, kLeft, chart.width - kRight},
          .y = {y.low, y.high, chart.height - kBottom, kTop}};
}

void draw_axes(Node& svg, const ResidualChart& chart, const Frame& frame) {
  svg.add(label({8, 16}, chart.residual_title, "axis-title"));
  const Ticks y = ticks(frame.y.low, frame.y.high, 5);
  for (const double value : y.values) {
    svg.add(segment({frame.x.from, frame.y.at(value)}, {frame.x.to, frame.y.at(value)}, "grid"));
    svg.add(label({kLeft - 8, frame.y.at(value) + 5}, fixed(value, y.decimals), "tick end"));
  }
  const Ticks x = ticks(frame.x.low, frame.x.high, 6);
  for (const double value : x.values)
    svg.add(label({frame.x.at(value), frame.y.from + 22}, fixed(value, x.decimals), "tick middle"));
  svg.add(label({frame.x.to, frame.y.from + 46}, chart.reading_title, "axis-title end"));
}

Node band_of(const ResidualChart& chart, const Frame& frame) {
  std::vector<Spot> top, bottom;
  for (const ResidualBand& band : chart.band) {
    top.push_back({frame.x.at(band.reading), frame.y.at(band.half)});
    bottom.push_back({frame.x.at(band.reading), frame.y.at(-band.half)});
  }
  return path(between(top, bottom), "u-band");
}

}  // namespace

Node draw(const ResidualChart& chart) {
  Node svg = drawing(chart.width, chart.height, "chart", chart.description);
  if (chart.spots.empty()) return svg;
  const Frame frame = frame_of(chart);
  draw_axes(svg, chart, frame);
  if (chart.band.size() > 1) svg.add(band_of(chart, frame));
  svg.add(segment({frame.x.from, frame.y.at(0)}, {frame.x.to, frame.y.at(0)}, "edge"));
  const double unit = frame.y.at(0) - frame.y.at(1);
  for (const ResidualSpot& spot : chart.spots)
    svg.add_all(value_mark({frame.x.at(spot.reading), frame.y.at(spot.residual)},
                           unit * spot.expanded_u, true));
  return svg;
}

}  // namespace endgate::reports

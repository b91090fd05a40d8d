#include "reports/residual_chart.h"

#include <algorithm>
#include <cmath>

#include "reports/plane.h"
#include "reports/shapes.h"

namespace endgate::reports {
namespace {

Plane plane_of_residuals(const ResidualChart& chart) {
  double least = chart.spots.front().reading, most = least, high = 0;
  for (const ResidualSpot& spot : chart.spots) {
    least = std::min(least, spot.reading);
    most = std::max(most, spot.reading);
    high = std::max(high, std::abs(spot.residual) + spot.expanded_u);
  }
  for (const ResidualBand& band : chart.band) high = std::max(high, band.half);
  const double pad = 0.05 * (most - least);
  return plane_of(chart.width, chart.height, {.left = 80}, {least - pad, most + pad},
                  widened(-1.05 * high, 1.05 * high, 5));
}

Node band_of(const ResidualChart& chart, const Plane& plane) {
  std::vector<Spot> top, bottom;
  for (const ResidualBand& band : chart.band) {
    top.push_back({plane.x.at(band.reading), plane.y.at(band.half)});
    bottom.push_back({plane.x.at(band.reading), plane.y.at(-band.half)});
  }
  return path(between(top, bottom), "u-band");
}

}  // namespace

Node draw(const ResidualChart& chart) {
  Node svg = drawing(chart.width, chart.height, "chart", chart.description);
  if (chart.spots.empty()) return svg;
  const Plane plane = plane_of_residuals(chart);
  draw_rows(svg, plane, chart.residual_title);
  draw_numbers_below(svg, plane, chart.reading_title, 6);
  if (chart.band.size() > 1) svg.add(band_of(chart, plane));
  svg.add(segment({plane.x.from, plane.y.at(0)}, {plane.x.to, plane.y.at(0)}, "edge"));
  const double unit = plane.y.at(0) - plane.y.at(1);
  for (const ResidualSpot& spot : chart.spots)
    svg.add_all(value_mark({plane.x.at(spot.reading), plane.y.at(spot.residual)},
                           unit * spot.expanded_u, true));
  return svg;
}

}  // namespace endgate::reports

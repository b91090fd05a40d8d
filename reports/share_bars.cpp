#include "reports/share_bars.h"

#include <algorithm>

#include "reports/axis.h"
#include "reports/shapes.h"

namespace endgate::reports {

Node draw_bars(const std::vector<ShareBar>& bars, const std::string& description, double width) {
  constexpr double kRow = 32, kNames = 470, kEnd = 320, kHalf = 8;
  Node svg = drawing(width, kRow * static_cast<double>(bars.size()) + 8, "chart", description);
  double most = 0.01;
  for (const ShareBar& bar : bars) most = std::max({most, bar.high, bar.share});
  const Axis x{0, most, kNames, width - kEnd};
  double middle = kRow / 2;
  for (const ShareBar& bar : bars) {
    svg.add(label({kNames - 10, middle + 5}, bar.name, "end"));
    svg.add(
        rect(kNames, middle - kHalf, std::max(1.0, x.at(bar.share) - kNames), 2 * kHalf, "bin"));
    svg.add(segment({x.at(bar.low), middle}, {x.at(bar.high), middle}, "whisker"));
    svg.add(label({x.at(bar.high) + 10, middle + 5}, bar.said, ""));
    middle += kRow;
  }
  return svg;
}

}  // namespace endgate::reports

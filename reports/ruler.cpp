#include "reports/ruler.h"

#include <algorithm>
#include <cmath>

#include "reports/shapes.h"

namespace endgate::reports {
namespace {

constexpr double kRulerHeight = 26, kMiddle = 13, kBarAt = 0.34;

// Drawing units for one unit of margin: the value, its whisker and the guard band all fit.
double scale_of(const Ruler& ruler, double left, double right) {
  const double margin = ruler.margin.value_or(0);
  const double good = std::max(
      {margin + ruler.expanded_u, 2.5 * ruler.guard, 0.15 * std::abs(ruler.limit_size), 1e-12});
  const double bad = std::max(ruler.expanded_u - margin, 1e-12);
  return std::min(right / good, left / bad);
}

}  // namespace

Node draw(const Ruler& ruler) {
  const double bar = kBarAt * ruler.width;
  const double scale = scale_of(ruler, bar - 8, ruler.width - bar - 8);
  Node svg = drawing(ruler.width, kRulerHeight, "ruler", ruler.description);
  svg.add(segment({0, kMiddle}, {bar, kMiddle}, "ruler-line"));
  svg.add(rect(bar, kMiddle - 6, ruler.width - bar, 12, "band"));
  const double guard = std::clamp(ruler.guard * scale, 0.0, ruler.width - bar);
  std::string strokes;
  for (double x = bar + 2; x + 2 < bar + guard; x += 6)
    strokes += "M" + length(x) + " 19L" + length(std::min(x + 8, bar + guard)) + " 7";
  if (!strokes.empty()) svg.add(path(strokes, "hatch"));
  svg.add(rect(bar - 1.5, 1, 3, kRulerHeight - 2, "bar"));
  if (ruler.margin)
    svg.add_all(value_mark({std::clamp(bar + *ruler.margin * scale, 6.0, ruler.width - 6), kMiddle},
                           ruler.expanded_u * scale, false));
  return svg;
}

}  // namespace endgate::reports

#include "reports/trace_plot.h"

#include <algorithm>
#include <cctype>
#include <cmath>

#include "reports/plane.h"
#include "reports/shapes.h"

namespace endgate::reports {
namespace {

constexpr Margins kMargins{.left = 64, .right = 16, .top = 58, .bottom = 52};

Plane plane_of_trace(const TracePlot& plot) {
  double low = HUGE_VAL, high = -HUGE_VAL, end = 1;
  for (const TracePiece& piece : plot.pieces) {
    end = std::max(end, piece.time_s);
    if (piece.lowest) low = std::min(low, *piece.lowest);
    if (piece.highest) high = std::max(high, *piece.highest);
  }
  if (low > high) low = 0, high = 1;
  return plane_of(plot.width, plot.height, kMargins, {0, end}, widened(low, high, 5));
}

// Steps that run at the same time share one mark: "Back leak and seal leak".
std::vector<StepSpan> joined(const std::vector<StepSpan>& steps) {
  std::vector<StepSpan> out;
  for (const StepSpan& step : steps) {
    const bool together = !out.empty() && std::abs(step.start_s - out.back().start_s) < 1e-3;
    if (!together) {
      out.push_back(step);
      continue;
    }
    std::string name = step.name;
    if (!name.empty())
      name[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(name[0])));
    out.back().name += " and " + name;
  }
  return out;
}

// Names stand in two rows, so that short steps do not cover each other's; the last one ends at the
// edge at most.
void draw_steps(Node& svg, const TracePlot& plot, const Plane& plane) {
  double row_end[2] = {0, 0};
  for (const StepSpan& step : joined(plot.steps)) {
    const double x = plane.x.at(step.start_s);
    svg.add(segment({x, kMargins.top - 4}, {x, plane.y.from}, "step-mark"));
    const double width = 9.0 * static_cast<double>(step.name.size());
    const double at = std::min(x + 4, plot.width - width);
    const int row = at >= row_end[0] ? 0 : 1;
    if (at < row_end[row]) continue;
    svg.add(label({at, kMargins.top - 8.0 - 16 * row}, step.name, "step-name"));
    row_end[row] = at + width;
  }
}

void draw_used(Node& svg, const TracePlot& plot, const Plane& plane) {
  for (const UsedSpan& used : plot.used) {
    const double x = plane.x.at(used.start_s);
    svg.add(rect(x, kMargins.top, std::max(1.0, plane.x.at(used.end_s) - x),
                 plane.y.from - kMargins.top, "band"));
  }
}

std::string line_of(const TracePlot& plot, const Plane& plane) {
  std::string out;
  bool pen_down = false;
  for (const TracePiece& piece : plot.pieces) {
    if (!piece.lowest || !piece.highest) {
      pen_down = false;
      continue;
    }
    const std::string x = length(plane.x.at(piece.time_s));
    out += (pen_down ? "L" : "M") + x + " " + length(plane.y.at(*piece.lowest)) + "L" + x + " " +
           length(plane.y.at(*piece.highest));
    pen_down = true;
  }
  return out;
}

}  // namespace

Node draw(const TracePlot& plot) {
  const Plane plane = plane_of_trace(plot);
  Node svg = drawing(plot.width, plot.height, "chart trace-plot", plot.description);
  draw_used(svg, plot, plane);
  draw_rows(svg, plane, plot.quantity);
  draw_numbers_below(svg, plane, "Bench time, s", 10);
  draw_steps(svg, plot, plane);
  return std::move(svg).add(path(line_of(plot, plane), "trace"));
}

}  // namespace endgate::reports

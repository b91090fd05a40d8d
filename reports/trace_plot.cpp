#include "reports/trace_plot.h"

#include <algorithm>
#include <cmath>

#include "reports/axis.h"
#include "reports/number.h"
#include "reports/shapes.h"

namespace endgate::reports {
namespace {

constexpr double kLeft = 64, kRight = 16, kTop = 58, kBottom = 46;

struct Frame {
  Axis x, y;
};

Frame frame_of(const TracePlot& plot) {
  double low = HUGE_VAL, high = -HUGE_VAL, end = 1;
  for (const TracePiece& piece : plot.pieces) {
    end = std::max(end, piece.time_s);
    if (piece.lowest) low = std::min(low, *piece.lowest);
    if (piece.highest) high = std::max(high, *piece.highest);
  }
  if (low > high) low = 0, high = 1;
  const Span y = widened(low, high, 5);
  return {.x = {0, end, kLeft, plot.width - kRight},
          .y = {y.low, y.high, plot.height - kBottom, kTop}};
}

void draw_axes(Node& svg, const TracePlot& plot, const Frame& frame) {
  svg.add(label({8, 18}, plot.quantity, "axis-title"));
  const Ticks y = ticks(frame.y.low, frame.y.high, 5);
  for (const double value : y.values) {
    svg.add(segment({frame.x.from, frame.y.at(value)}, {frame.x.to, frame.y.at(value)}, "grid"));
    svg.add(label({kLeft - 8, frame.y.at(value) + 5}, fixed(value, y.decimals), "tick end"));
  }
  const Ticks x = ticks(frame.x.low, frame.x.high, 10);
  for (const double value : x.values)
    svg.add(label({frame.x.at(value), frame.y.from + 20}, fixed(value, x.decimals), "tick middle"));
  svg.add(label({frame.x.to, frame.y.from + 40}, "Bench time, s", "axis-title end"));
}

// Names stand in two rows, so that short steps do not cover each other's.
void draw_steps(Node& svg, const TracePlot& plot, const Frame& frame) {
  double row_end[2] = {0, 0};
  for (const StepSpan& step : plot.steps) {
    const double x = frame.x.at(step.start_s);
    svg.add(segment({x, kTop - 4}, {x, frame.y.from}, "step-mark"));
    const double width = 9.0 * static_cast<double>(step.name.size());
    const int row = x + 4 >= row_end[0] ? 0 : 1;
    if (x + 4 < row_end[row] || x + 4 + width > plot.width) continue;
    svg.add(label({x + 4, kTop - 8.0 - 16 * row}, step.name, "step-name"));
    row_end[row] = x + 4 + width;
  }
}

void draw_used(Node& svg, const TracePlot& plot, const Frame& frame) {
  for (const UsedSpan& used : plot.used) {
    const double x = frame.x.at(used.start_s);
    svg.add(rect(x, kTop, std::max(1.0, frame.x.at(used.end_s) - x), frame.y.from - kTop, "band"));
  }
}

std::string line_of(const TracePlot& plot, const Frame& frame) {
  std::string out;
  bool pen_down = false;
  for (const TracePiece& piece : plot.pieces) {
    if (!piece.lowest || !piece.highest) {
      pen_down = false;
      continue;
    }
    const std::string x = length(frame.x.at(piece.time_s));
    out += (pen_down ? "L" : "M") + x + " " + length(frame.y.at(*piece.lowest)) + "L" + x + " " +
           length(frame.y.at(*piece.highest));
    pen_down = true;
  }
  return out;
}

}  // namespace

Node draw(const TracePlot& plot) {
  const Frame frame = frame_of(plot);
  Node svg = drawing(plot.width, plot.height, "chart trace-plot", plot.description);
  draw_used(svg, plot, frame);
  draw_axes(svg, plot, frame);
  draw_steps(svg, plot, frame);
  return std::move(svg).add(path(line_of(plot, frame), "trace"));
}

}  // namespace endgate::reports

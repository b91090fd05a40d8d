#include "reports/curve_chart.h"

#include <algorithm>

#include "reports/axis.h"
#include "reports/end_labels.h"
#include "reports/number.h"
#include "reports/shapes.h"

namespace endgate::reports {
namespace {

constexpr double kLeft = 50, kRight = 112, kTop = 34, kBottom = 58;
constexpr double kDecidingRing = 15;  // radius

struct Frame {
  Axis x, y;
  [[nodiscard]] Spot at(double pressure, double flow) const { return {x.at(pressure), y.at(flow)}; }
};

void collect(const CurveChart& chart, std::vector<double>& x, std::vector<double>& y) {
  for (const BandSpot& spot : chart.band) {
    x.push_back(spot.pressure);
    if (spot.lower) y.push_back(*spot.lower);
    if (spot.upper) y.push_back(*spot.upper);
  }
  const auto take = [&](double pressure, double flow) {
    x.push_back(pressure);
    y.push_back(flow);
  };
  for (const CurveSpot& spot : chart.curve)
    for (const double off : {-spot.expanded_u, spot.expanded_u})
      take(spot.pressure, spot.flow + off);
  for (const MeasuredSpot& spot : chart.points) take(spot.pressure, spot.flow);
  for (const OtherCurve& other : chart.others)
    for (const CurveSpot& spot : other.spots) take(spot.pressure, spot.flow);
}

Frame frame_of(const CurveChart& chart) {
  std::vector<double> x, y;
  collect(chart, x, y);
  if (x.empty()) x = {0, 800};
  if (y.empty()) y = {4, 56};  // nothing to show yet: an empty sheet from 0 to 60
  const auto [x_low, x_high] = std::minmax_element(x.begin(), x.end());
  const auto [y_low, y_high] = std::minmax_element(y.begin(), y.end());
  const double pad = 0.04 * (*y_high - *y_low);
  const Span span_x = widened(*x_low, *x_high, 4);
  const Span span_y = widened(*y_low - pad, *y_high + pad, 5);
  return {.x = {span_x.low, span_x.high, kLeft, chart.width - kRight},
          .y = {span_y.low, span_y.high, chart.height - kBottom, kTop}};
}

void draw_axes(Node& svg, const Frame& frame) {
  const double right = frame.x.to, bottom = frame.y.from;
  svg.add(label({8, 16}, "Free-air delivery, L/min", "axis-title"));
  svg.add(label({right, bottom + 44}, "Outlet pressure, kPa gauge", "axis-title end"));
  const Ticks y = ticks(frame.y.low, frame.y.high, 5);
  for (const double value : y.values) {
    svg.add(segment({kLeft, frame.y.at(value)}, {right, frame.y.at(value)}, "grid"));
    svg.add(label({kLeft - 8, frame.y.at(value) + 5}, fixed(value, y.decimals), "tick end"));
  }
  const Ticks x = ticks(frame.x.low, frame.x.high, 5);
  for (const double value : x.values) {
    svg.add(segment({frame.x.at(value), kTop}, {frame.x.at(value), bottom + 12}, "grid"));
    svg.add(label({frame.x.at(value), bottom + 27}, fixed(value, x.decimals), "tick middle"));
  }
}

// Short strokes on the good side of the lower limit, as wide as the guard band.
std::string hatching(const std::vector<Spot>& from, const std::vector<Spot>& to) {
  std::string out;
  for (std::size_t i = 1; i < from.size(); ++i) {
    const int strokes = std::max(1, static_cast<int>((from[i].x - from[i - 1].x) / 8));
    for (int k = 0; k < strokes; ++k) {
      const double t = (k + 0.5) / strokes;
      const double x = from[i - 1].x + t * (from[i].x - from[i - 1].x);
      const double low = from[i - 1].y + t * (from[i].y - from[i - 1].y);
      const double high = to[i - 1].y + t * (to[i].y - to[i - 1].y);
      out += "M" + length(x) + " " + length(low) + "L" +
             length(std::min(x + 0.7 * (low - high), from.back().x)) + " " + length(high);
    }
  }
  return out;
}

struct BandEdges {
  std::vector<Spot> lower, upper, accepted;
};

BandEdges edges_of(const CurveChart& chart, const Frame& frame) {
  BandEdges edges;
  for (const BandSpot& spot : chart.band) {
    if (spot.upper) edges.upper.push_back(frame.at(spot.pressure, *spot.upper));
    if (!spot.lower) continue;
    edges.lower.push_back(frame.at(spot.pressure, *spot.lower));
    edges.accepted.push_back(frame.at(spot.pressure, *spot.lower + spot.guard));
  }
  return edges;
}

// Without an upper limit the band is open to the top of the drawing.
void draw_band(Node& svg, const BandEdges& edges, double top) {
  std::vector<Spot> roof = edges.upper;
  if (roof.empty())
    for (const Spot& spot : edges.lower) roof.push_back({spot.x, top});
  if (!edges.lower.empty()) svg.add(path(between(roof, edges.lower), "band"));
  if (!edges.upper.empty()) svg.add(path(through(edges.upper), "edge other"));
  const bool guarded =
      !edges.lower.empty() && edges.lower.front().y - edges.accepted.front().y > 0.5;
  if (guarded) svg.add(path(hatching(edges.lower, edges.accepted), "hatch"));
  if (!edges.lower.empty()) svg.add(path(through(edges.lower), "edge"));
}

void draw_curve(Node& svg, const CurveChart& chart, const Frame& frame) {
  std::vector<Spot> inside, beyond, high, low;
  for (const CurveSpot& spot : chart.curve) {
    const Spot at = frame.at(spot.pressure, spot.flow);
    if (spot.extrapolated && beyond.empty() && !inside.empty()) beyond.push_back(inside.back());
    (spot.extrapolated ? beyond : inside).push_back(at);
    high.push_back(frame.at(spot.pressure, spot.flow + spot.expanded_u));
    low.push_back(frame.at(spot.pressure, spot.flow - spot.expanded_u));
  }
  if (!high.empty()) svg.add(path(between(high, low), "u-band"));
  if (inside.size() > 1) svg.add(path(through(inside), "curve"));
  if (beyond.size() > 1) svg.add(path(through(beyond), "curve extrapolated"));
  if (chart.stops && !inside.empty())
    svg.add(segment({inside.back().x, inside.back().y - 12},
                    {inside.back().x, inside.back().y + 12}, "post"));
}

void draw_points(Node& svg, const CurveChart& chart, const Frame& frame) {
  const double per_unit = (frame.y.from - frame.y.to) / (frame.y.high - frame.y.low);
  for (const MeasuredSpot& spot : chart.points) {
    const Spot at = frame.at(spot.pressure, spot.flow);
    if (spot.decides) svg.add(circle(at, kDecidingRing, "ring"));
    svg.add_all(value_mark(at, spot.expanded_u * per_unit, true));
  }
}

std::vector<EndLabel> labels_of(const CurveChart& chart, const Frame& frame,
                                const BandEdges& edges) {
  std::vector<EndLabel> labels;
  if (!edges.upper.empty()) labels.push_back({edges.upper.back().y, "upper limit", ""});
  if (!edges.lower.empty()) labels.push_back({edges.lower.back().y, "lower limit", ""});
  for (const OtherCurve& other : chart.others)
    if (!other.spots.empty() && !other.name.empty())
      labels.push_back(
          {frame.y.at(other.spots.back().flow), other.name, other.birth ? "birth-label" : ""});
  const bool whole = !chart.curve.empty() && !chart.stops && !chart.unit_label.empty();
  if (whole) labels.push_back({frame.y.at(chart.curve.back().flow), chart.unit_label, "strong"});
  return labels;
}

}  // namespace

Node draw(const CurveChart& chart) {
  const Frame frame = frame_of(chart);
  Node svg = drawing(chart.width, chart.height, "chart curve-chart", chart.description);
  draw_axes(svg, frame);
  const BandEdges edges = edges_of(chart, frame);
  draw_band(svg, edges, kTop);
  for (const OtherCurve& other : chart.others) {
    std::vector<Spot> spots;
    for (const CurveSpot& spot : other.spots) spots.push_back(frame.at(spot.pressure, spot.flow));
    svg.add(path(through(spots), other.birth ? "curve birth" : "curve earlier"));
  }
  draw_curve(svg, chart, frame);
  draw_points(svg, chart, frame);
  const bool ringed = std::ranges::any_of(chart.points, &MeasuredSpot::decides);
  const LabelRoom room{.x = frame.x.to + (ringed ? kDecidingRing + 3 : 9),
                       .top = kTop + 6,
                       .bottom = chart.height - kBottom + 6};
  return std::move(svg).add_all(draw_end_labels(labels_of(chart, frame, edges), room));
}

Node table_of(const CurveChart& chart) {
  Node table("table");
  table.add(Node("caption").say(chart.description));
  Node head("tr");
  for (const char* title : {"Outlet pressure, kPa gauge", "Free-air delivery, L/min", "± U"})
    head.add(Node("th").set("scope", "col").say(title));
  table.add(Node("thead").add(std::move(head)));
  Node body("tbody");
  for (const MeasuredSpot& spot : chart.points) {
    const WrittenReading written =
        write_reading({.value = spot.flow, .expanded_u = spot.expanded_u});
    body.add(Node("tr")
                 .add(Node("td", "number").say(fixed(spot.pressure, 0)))
                 .add(Node("td", "number").say(written.value))
                 .add(Node("td", "number").say(written.u.empty() ? kMissing : written.u)));
  }
  return std::move(table).add(std::move(body));
}

}  // namespace endgate::reports

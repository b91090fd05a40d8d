#include "reports/flat_curve.h"

#include <algorithm>
#include <optional>

#include "reports/shapes.h"

namespace endgate::reports {
namespace {

constexpr double kWithoutUpper = 1.5;  // the band is open above: shown so far
constexpr double kWidth = 128, kHeight = 40, kLower = 30, kUpper = 8;

struct Bounds {
  double lower = 0, upper = 0;
};

Bounds bounds_of(const BandSpot& spot) {
  return {*spot.lower, spot.upper.value_or(*spot.lower * kWithoutUpper)};
}

std::optional<Bounds> bounds_at(const std::vector<BandSpot>& band, double pressure) {
  for (std::size_t i = 0; i + 1 < band.size(); ++i) {
    const BandSpot& a = band[i];
    const BandSpot& b = band[i + 1];
    if (pressure < a.pressure || pressure > b.pressure || !a.lower || !b.lower) continue;
    const double t = (pressure - a.pressure) / (b.pressure - a.pressure);
    const Bounds from = bounds_of(a), to = bounds_of(b);
    return Bounds{from.lower + t * (to.lower - from.lower),
                  from.upper + t * (to.upper - from.upper)};
  }
  return std::nullopt;
}

}  // namespace

std::vector<CurveSpot> laid_flat(const FlatCurve& flat) {
  std::vector<CurveSpot> out;
  for (const CurveSpot& spot : flat.curve) {
    const auto bounds = bounds_at(flat.band, spot.pressure);
    if (!bounds || bounds->upper <= bounds->lower) continue;
    CurveSpot level = spot;
    level.flow = (spot.flow - bounds->lower) / (bounds->upper - bounds->lower);
    out.push_back(level);
  }
  return out;
}

Node draw(const FlatCurve& flat) {
  Node svg = drawing(kWidth, kHeight, "flat-curve", flat.description);
  svg.add(rect(3, kUpper, kWidth - 6, kLower - kUpper, "band"));
  const bool closed = std::any_of(flat.band.begin(), flat.band.end(),
                                  [](const BandSpot& spot) { return spot.upper.has_value(); });
  if (closed) svg.add(segment({3, kUpper}, {kWidth - 3, kUpper}, "edge other"));
  svg.add(segment({3, kLower}, {kWidth - 3, kLower}, "edge"));
  if (flat.band.size() < 2) return svg;
  const double low = flat.band.front().pressure, high = flat.band.back().pressure;
  std::vector<Spot> spots;
  for (const CurveSpot& spot : laid_flat(flat))
    spots.push_back({3 + (spot.pressure - low) / (high - low) * (kWidth - 6),
                     std::clamp(kLower - spot.flow * (kLower - kUpper), 1.0, kHeight - 1)});
  if (spots.size() > 1) svg.add(path(through(spots), "curve"));
  if (flat.stops && !spots.empty())
    svg.add(segment({spots.back().x, spots.back().y - 6}, {spots.back().x, spots.back().y + 6},
                    "post"));
  return svg;
}

}  // namespace endgate::reports

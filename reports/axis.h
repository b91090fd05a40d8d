// Where on a drawing does a number lie, and which numbers are written along the axis?

#pragma once

#include <vector>

namespace endgate::reports {

struct Axis {
  double low = 0, high = 1;   // in display units, low < high
  double from = 0, to = 100;  // in drawing units; from may be the larger one
  [[nodiscard]] double at(double value) const {
    return from + (value - low) / (high - low) * (to - from);
  }
};

struct Ticks {
  std::vector<double> values{};
  int decimals = 0;
};

// Round numbers (1, 2 or 5 times a power of ten) inside [low, high], about `wanted` of them.
[[nodiscard]] Ticks ticks(double low, double high, int wanted);

struct Span {
  double low = 0, high = 1;
};
// The smallest span of whole ticks around [low, high], never empty.
[[nodiscard]] Span widened(double low, double high, int wanted);

}  // namespace endgate::reports

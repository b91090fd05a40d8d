// Numbers of batches, one after the other, against the limits their own scatter gives them: means,
// a running mean, or a running sum upwards and downwards.
//
// Numbers in display units; not a number: a gap.  Lines differ by dashes; what signals wears a
// ring.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "reports/change_mark.h"
#include "reports/node.h"
#include "reports/plane.h"

namespace endgate::reports {

struct BatchChart {
  std::string description{}, unit{};
  std::vector<PlaceName> names{};      // of the batches, 0, 1, 2 ...
  std::vector<double> values{};        // one a batch, joined by a line
  std::vector<double> other{};         // a second line, dashed
  std::vector<double> low{}, high{};   // limits at each batch; empty: none
  std::vector<double> centres{};       // what the limits are about, at each batch
  std::vector<std::size_t> breaks{};   // other limits begin at these batches
  std::vector<std::size_t> signals{};  // of `values` or `other`, whichever is farther out
  std::vector<ChangeMark> changes{};
  std::optional<Span> at_least{};  // of the upright axis, so that two drawings compare
  double width = 620, height = 236;
};

[[nodiscard]] Node draw(const BatchChart& chart);
// From the lowest to the highest number that is drawn.
[[nodiscard]] Span span_of(const BatchChart& chart);

}  // namespace endgate::reports

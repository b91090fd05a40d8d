// Words at the ends of lines: moved apart so that none covers another or leaves the drawing.

#pragma once

#include <span>
#include <string>
#include <vector>

#include "reports/node.h"

namespace endgate::reports {

struct EndLabel {
  double y = 0;  // of the line's end, drawing units
  std::string words{};
  std::string class_names{};
};

struct LabelRoom {
  double x = 0;
  double top = 0, bottom = 100;  // baselines stay inside
  double line_height = 17;
};

// Keeps the order of the lines; neighbours are at least one line height apart.
[[nodiscard]] std::vector<double> spread(std::vector<double> wanted, const LabelRoom& room);
[[nodiscard]] std::vector<Node> draw_end_labels(std::vector<EndLabel> labels,
                                                const LabelRoom& room);

}  // namespace endgate::reports

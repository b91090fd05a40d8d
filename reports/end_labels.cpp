#include "reports/end_labels.h"

#include <algorithm>
#include <numeric>

#include "reports/shapes.h"

namespace endgate::reports {

std::vector<double> spread(std::vector<double> wanted, const LabelRoom& room) {
  std::vector<std::size_t> order(wanted.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return wanted[a] < wanted[b]; });
  const double count = static_cast<double>(order.size());
  const double step =
      std::min(room.line_height, count > 1 ? (room.bottom - room.top) / (count - 1) : 1e9);
  double lowest = room.top;
  for (const std::size_t i : order) {  // downwards: push away from the one above
    wanted[i] = std::max(wanted[i], lowest);
    lowest = wanted[i] + step;
  }
  double highest = room.bottom;
  for (auto it = order.rbegin(); it != order.rend(); ++it) {  // upwards: back inside the drawing
    wanted[*it] = std::min(wanted[*it], highest);
    highest = wanted[*it] - step;
  }
  return wanted;
}

std::vector<Node> draw_end_labels(std::vector<EndLabel> labels, const LabelRoom& room) {
  std::vector<double> wanted;
  for (const EndLabel& one : labels) wanted.push_back(one.y + 5);  // baseline under the middle
  const std::vector<double> y = spread(std::move(wanted), room);
  std::vector<Node> out;
  for (std::size_t i = 0; i < labels.size(); ++i)
    out.push_back(label({room.x, y[i]}, labels[i].words, "end-label " + labels[i].class_names));
  return out;
}

}  // namespace endgate::reports

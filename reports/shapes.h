// The few shapes that all drawings are made of.

#pragma once

#include <string>
#include <vector>

#include "reports/node.h"

namespace endgate::reports {

struct Spot {
  double x = 0, y = 0;
};

[[nodiscard]] Node rect(double x, double y, double width, double height, std::string class_names);
[[nodiscard]] Node segment(Spot from, Spot to, std::string class_names);
[[nodiscard]] Node path(std::string commands, std::string class_names);
[[nodiscard]] Node circle(Spot centre, double radius, std::string class_names);
[[nodiscard]] Node label(Spot at, std::string words, std::string class_names);

// "M x y L x y ..."; empty for no spots.
[[nodiscard]] std::string through(const std::vector<Spot>& spots);
// There along `top`, back along `bottom`.
[[nodiscard]] std::string between(const std::vector<Spot>& top, const std::vector<Spot>& bottom);

// An open square with its whisker, the mark of a measured value.
[[nodiscard]] std::vector<Node> value_mark(Spot at, double half_whisker, bool upright,
                                           double half_side = 5);

[[nodiscard]] Node drawing(double width, double height, std::string class_names,
                           const std::string& description);

}  // namespace endgate::reports

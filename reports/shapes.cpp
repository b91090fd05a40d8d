#include "reports/shapes.h"

namespace endgate::reports {

Node rect(double x, double y, double width, double height, std::string class_names) {
  return Node("rect", std::move(class_names))
      .set("x", x)
      .set("y", y)
      .set("width", width)
      .set("height", height);
}

Node segment(Spot from, Spot to, std::string class_names) {
  return Node("line", std::move(class_names))
      .set("x1", from.x)
      .set("y1", from.y)
      .set("x2", to.x)
      .set("y2", to.y);
}

Node path(std::string commands, std::string class_names) {
  return Node("path", std::move(class_names)).set("d", std::move(commands));
}

Node circle(Spot centre, double radius, std::string class_names) {
  return Node("circle", std::move(class_names))
      .set("cx", centre.x)
      .set("cy", centre.y)
      .set("r", radius);
}

Node label(Spot at, std::string words, std::string class_names) {
  return Node("text", std::move(class_names)).set("x", at.x).set("y", at.y).say(std::move(words));
}

std::string through(const std::vector<Spot>& spots) {
  std::string out;
  for (const Spot& spot : spots)
    out += (out.empty() ? "M" : "L") + length(spot.x) + " " + length(spot.y);
  return out;
}

std::string between(const std::vector<Spot>& top, const std::vector<Spot>& bottom) {
  std::vector<Spot> all = top;
  all.insert(all.end(), bottom.rbegin(), bottom.rend());
  return all.empty() ? "" : through(all) + "Z";
}

std::vector<Node> value_mark(Spot at, double half_whisker, bool upright, double half_side) {
  const Spot d = upright ? Spot{0, half_whisker} : Spot{half_whisker, 0};
  return {segment({at.x - d.x, at.y - d.y}, {at.x + d.x, at.y + d.y}, "whisker"),
          rect(at.x - half_side, at.y - half_side, 2 * half_side, 2 * half_side, "mark")};
}

Node drawing(double width, double height, std::string class_names, const std::string& description) {
  Node svg("svg", std::move(class_names));
  svg.set("viewBox", "0 0 " + length(width) + " " + length(height));
  svg.set("width", width).set("height", height).set("role", "img");
  if (description.empty())
    svg.set("aria-hidden", "true");
  else
    svg.set("aria-label", description);
  return svg;
}

}  // namespace endgate::reports

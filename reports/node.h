// What is on a page or in a drawing?  A tree of elements, written as HTML or SVG text.
//
// Every text and attribute is escaped here and nowhere else.  There is no way to write an inline
// style or script: the pages are served under a policy that refuses both.

#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace endgate::reports {

struct Node {
  std::string tag{};  // empty: a text node
  std::vector<std::pair<std::string, std::string>> attributes{};
  std::vector<Node> children{};
  std::string text{};  // of a text node

  Node() = default;
  explicit Node(std::string tag_name, std::string class_names = "");

  // All of these return the node itself, so that a tree reads from the outside in.
  Node& set(std::string name, std::string value) &;
  Node&& set(std::string name, std::string value) &&;
  Node& set(std::string name, double value) &;
  Node&& set(std::string name, double value) &&;
  Node& add(Node child) &;
  Node&& add(Node child) &&;
  Node& add_all(std::vector<Node> nodes) &;
  Node&& add_all(std::vector<Node> nodes) &&;
  Node& say(std::string words) &;
  Node&& say(std::string words) &&;
};

[[nodiscard]] std::string to_markup(const Node& node);
[[nodiscard]] std::string escaped(std::string_view text);

// A length in a drawing: at most two decimals, no exponent, no locale.
[[nodiscard]] std::string length(double value);

}  // namespace endgate::reports

#include "reports/node.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

namespace endgate::reports {
namespace {

bool is_void_element(const std::string& tag) {
  static constexpr std::array<std::string_view, 6> kVoid{"meta", "link", "input",
                                                         "br",   "hr",   "img"};
  return std::find(kVoid.begin(), kVoid.end(), tag) != kVoid.end();
}

void write(const Node& node, std::string& out) {
  if (node.tag.empty()) {
    out += escaped(node.text);
    return;
  }
  out += "<" + node.tag;
  for (const auto& [name, value] : node.attributes)
    out += " " + name + "=\"" + escaped(value) + "\"";
  out += ">";
  if (is_void_element(node.tag)) return;
  for (const Node& child : node.children) write(child, out);
  out += "</" + node.tag + ">";
}

const char* entity(char c) {
  switch (c) {
    case '&':
      return "&amp;";
    case '<':
      return "&lt;";
    case '>':
      return "&gt;";
    case '"':
      return "&quot;";
    case '\'':
      return "&#39;";
    default:
      return nullptr;
  }
}

}  // namespace

Node::Node(std::string tag_name, std::string class_names) : tag(std::move(tag_name)) {
  if (!class_names.empty()) set("class", std::move(class_names));
}

Node& Node::set(std::string name, std::string value) & {
  attributes.emplace_back(std::move(name), std::move(value));
  return *this;
}
Node&& Node::set(std::string name, std::string value) && {
  return std::move(set(std::move(name), std::move(value)));
}
Node& Node::set(std::string name, double value) & { return set(std::move(name), length(value)); }
Node&& Node::set(std::string name, double value) && {
  return std::move(set(std::move(name), length(value)));
}
Node& Node::add(Node child) & {
  children.push_back(std::move(child));
  return *this;
}
Node&& Node::add(Node child) && { return std::move(add(std::move(child))); }
Node& Node::add_all(std::vector<Node> nodes) & {
  for (Node& node : nodes) children.push_back(std::move(node));
  return *this;
}
Node&& Node::add_all(std::vector<Node> nodes) && { return std::move(add_all(std::move(nodes))); }
Node& Node::say(std::string words) & {
  Node leaf;
  leaf.text = std::move(words);
  return add(std::move(leaf));
}
Node&& Node::say(std::string words) && { return std::move(say(std::move(words))); }

std::string to_markup(const Node& node) {
  std::string out;
  write(node, out);
  return out;
}

std::string escaped(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  for (const char c : text) {
    if (const char* name = entity(c))
      out += name;
    else if (static_cast<unsigned char>(c) >= 0x20 || c == '\n' || c == '\t')
      out += c;  // other control characters have no place in a page
  }
  return out;
}

std::string length(double value) {
  const double safe = std::isfinite(value) ? std::clamp(value, -1e6, 1e6) : 0.0;
  const double rounded = std::round(safe * 100) / 100;
  std::array<char, 40> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(),
                                 rounded == 0 ? 0.0 : rounded, std::chars_format::fixed, 2);
  std::string text(buffer.data(), end.ptr);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

}  // namespace endgate::reports

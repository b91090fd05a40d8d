// Is this text well-formed, as an XML reader would see it?  Enough of one for what reports write.

#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace endgate::test {

// Empty: every element is closed in order, attributes are quoted, no stray < or &.
inline std::string wrong_in_markup(std::string_view text) {
  std::vector<std::string> open;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '&' && text.substr(i, 9).find(';') == std::string_view::npos)
      return "a bare & at " + std::to_string(i);
    if (text[i] != '<') continue;
    const std::size_t end = text.find('>', i);
    if (end == std::string_view::npos) return "a < without its >";
    const std::string_view tag = text.substr(i + 1, end - i - 1);
    if (tag.find('<') != std::string_view::npos) return "a < inside a tag";
    if (tag.starts_with('/')) {
      if (open.empty() || open.back() != tag.substr(1)) return "closes " + std::string(tag);
      open.pop_back();
    } else {
      open.emplace_back(tag.substr(0, tag.find(' ')));
    }
    i = end;
  }
  return open.empty() ? "" : "not closed: " + open.back();
}

}  // namespace endgate::test

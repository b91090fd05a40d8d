// A page as XML: without what HTML leaves open.

#pragma once

#include <cstddef>
#include <string>

namespace endgate::test {

[[nodiscard]] inline std::string tree_of(std::string page) {
  page.erase(0, page.find("<html"));
  for (const char* empty : {"<meta", "<link", "<input"})
    for (std::size_t at = 0; (at = page.find(empty, at)) != std::string::npos;)
      page.erase(at, page.find('>', at) - at + 1);
  return page;
}

}  // namespace endgate::test

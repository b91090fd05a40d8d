// The place of a name in a list, which it joins when it is new.

#pragma once

#include <algorithm>
#include <string>
#include <vector>

namespace endgate::daemon {

[[nodiscard]] inline std::size_t index_in(std::vector<std::string>& names,
                                          const std::string& name) {
  const auto found = std::ranges::find(names, name);
  if (found != names.end()) return static_cast<std::size_t>(found - names.begin());
  names.push_back(name);
  return names.size() - 1;
}

}  // namespace endgate::daemon

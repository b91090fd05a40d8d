#include "daemon/line/two_people.h"

#include <algorithm>

namespace endgate::daemon {
namespace {

std::string folded(std::string name) {
  std::ranges::transform(name, name.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  std::erase_if(name, [](char c) { return c == ' ' || c == '.' || c == '\t'; });
  return name;
}

}  // namespace

bool two_people(const std::string& first, const std::string& second) {
  return !folded(second).empty() && folded(second) != folded(first);
}

}  // namespace endgate::daemon

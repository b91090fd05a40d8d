#include "daemon/service/assets.h"

#include <algorithm>

namespace endgate::daemon {

const Asset* asset_of(std::string_view name) {
  const auto all = assets();
  const auto found =
      std::find_if(all.begin(), all.end(), [&](const Asset& asset) { return asset.name == name; });
  return found == all.end() ? nullptr : &*found;
}

}  // namespace endgate::daemon

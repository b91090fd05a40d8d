// Was this id used before in the same list?

#pragma once

#include <set>
#include <string>

#include "daemon/definitions/toml_reader.h"

namespace endgate::daemon {

class UniqueIds {
 public:
  void expect_new(TomlReader& reader, std::string_view key, const std::string& id) {
    if (!id.empty() && !seen_.insert(id).second)
      reader.complain(key, "an id used once, found \"" + id + "\" again");
  }

 private:
  std::set<std::string> seen_;
};

}  // namespace endgate::daemon

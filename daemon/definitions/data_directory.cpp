#include "daemon/definitions/data_directory.h"

#include <string>

#include "daemon/definitions/load_text.h"

namespace endgate::daemon {

std::filesystem::path data_directory_meant(std::string_view text) {
  Findings ignored("");
  const std::optional<toml::table> table = parse_toml(text, "", ignored);
  return table ? (*table)["data_directory"].value_or(std::string("data")) : "data";
}

}  // namespace endgate::daemon

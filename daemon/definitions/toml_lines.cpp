#include "daemon/definitions/toml_lines.h"

#include <toml++/toml.h>

#include <sstream>

#include "daemon/definitions/number_range.h"

namespace endgate::daemon {

std::string toml_quoted(const std::string& text) {
  std::ostringstream out;
  out << toml::value<std::string>(text);
  return out.str();
}

std::string toml_line(const char* key, const std::string& value) {
  return std::string(key) + " = " + value + "\n";
}

std::string toml_line(const char* key, double value) { return toml_line(key, plain_number(value)); }

std::string toml_line(const char* key, std::int64_t value) {
  return toml_line(key, std::to_string(value));
}

}  // namespace endgate::daemon

#include "daemon/definitions/serial_pattern.h"

#include <regex>

namespace endgate::daemon {

bool is_pattern(const std::string& pattern) {
  try {
    const std::regex compiled(pattern, std::regex::ECMAScript);
    return true;
  } catch (const std::regex_error&) {
    return false;
  }
}

bool matches_pattern(const std::string& text, const std::string& pattern) {
  return text.size() <= kLongestSerial &&
         std::regex_match(text, std::regex(pattern, std::regex::ECMAScript));
}

}  // namespace endgate::daemon

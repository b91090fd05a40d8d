// How is a line of a TOML text written?

#pragma once

#include <cstdint>
#include <string>

namespace endgate::daemon {

[[nodiscard]] std::string toml_quoted(const std::string& text);

// `value` as it shall stand there: a text is quoted already.
[[nodiscard]] std::string toml_line(const char* key, const std::string& value);
[[nodiscard]] std::string toml_line(const char* key, double value);
[[nodiscard]] std::string toml_line(const char* key, std::int64_t value);

}  // namespace endgate::daemon

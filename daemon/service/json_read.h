// What does the body of a command say?  A strict reading: one flat object of texts.
//
// Refused: anything that is not JSON, deeper than 16, with a key twice, with a key that the command
// does not know, with a value that is not text, with control characters, or with a needed key
// missing.  The sentence names the key.

#pragma once

#include <map>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace endgate::daemon {

struct CommandShape {
  std::vector<std::string_view> needed{};
  std::vector<std::string_view> optional{};
  std::string_view long_text{};  // this key may hold lines and be long
};

using Fields = std::map<std::string, std::string>;
struct BadBody {
  std::string sentence{};
};

[[nodiscard]] std::variant<Fields, BadBody> read_fields(std::string_view body,
                                                        const CommandShape& shape);

}  // namespace endgate::daemon

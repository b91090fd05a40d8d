// Which command do these words name?  Each is described in a describe_*_commands.cpp.

#pragma once

#include <variant>

#include "daemon/cli/commands.h"

namespace endgate::daemon {

// The command, or the exit status when help or version was printed or the words were wrong.
[[nodiscard]] std::variant<Command, int> parse_command_line(int argc, const char* const* argv);

}  // namespace endgate::daemon

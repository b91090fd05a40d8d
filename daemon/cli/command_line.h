// From the words of a command line to an exit status.

#pragma once

namespace endgate::daemon {

// Never throws: a fault that reaches it is told on standard error and becomes an exit status.
int run_command_line(int argc, char** argv);

}  // namespace endgate::daemon

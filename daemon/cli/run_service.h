// `endgate run`: motors off, opens the store, connects the benches, serves the pages, until SIGTERM
// or SIGINT.

#pragma once

#include <filesystem>

namespace endgate::daemon {

// Prints the address of the page on standard output when ready.  Returns an exit status: 0 ended
// by a signal, 3 configuration, 5 storage, 6 another daemon owns the store, 70 internal.
[[nodiscard]] int run_service(const std::filesystem::path& config_folder);

}  // namespace endgate::daemon

// Which folder does the user mean, and what does its service file say?

#pragma once

#include <filesystem>
#include <stdexcept>
#include <vector>

#include "daemon/cli/commands.h"
#include "daemon/definitions/service_definition.h"

namespace endgate::daemon {

// A configuration that a command cannot go on without; the text says which file and what to do.
class ConfigurationFault : public std::runtime_error {
  using std::runtime_error::runtime_error;
};

// service.toml of the folder, its data directory made absolute by the folder.
[[nodiscard]] ServiceDefinition service_in(const std::filesystem::path& config_folder);

// Of the service file beside the store; none for a store that is named by its folder alone.
[[nodiscard]] std::vector<int> shift_begins_min(const StorePlace& place);

[[nodiscard]] std::filesystem::path store_folder(const StorePlace& place);

}  // namespace endgate::daemon

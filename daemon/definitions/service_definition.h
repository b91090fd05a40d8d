// Where does the service keep, listen and look?  The content of service.toml, checked.

#pragma once

#include <cstdint>
#include <filesystem>
#include <string>

#include "daemon/definitions/upkeep_definition.h"

namespace endgate::daemon {

struct ServiceDefinition {
  std::filesystem::path data_directory;  // records.db, traces, signing key; relative to the file
  std::string listen_address = "127.0.0.1";
  std::uint16_t listen_port = 8640;
  std::string plant = "plant";
  std::string log_level = "info";
  int pool_threads = 2;
  UpkeepPolicy upkeep;
};

}  // namespace endgate::daemon

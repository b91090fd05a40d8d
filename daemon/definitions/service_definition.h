// Where does the service keep, listen and look?  The content of service.toml, checked.

#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

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
  // [shifts] begins = ["06:00", "14:00", "22:00"]: minutes after midnight, plant time, ascending.
  // Empty: not stated, and nothing is told by shift.
  std::vector<int> shift_begins_min;
};

}  // namespace endgate::daemon

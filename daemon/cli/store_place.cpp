#include "daemon/cli/store_place.h"

#include <fstream>
#include <iterator>

#include "daemon/definitions/load.h"

namespace endgate::daemon {
namespace {

std::string all_of(const std::vector<DefinitionError>& errors) {
  std::string text;
  for (const DefinitionError& error : errors) text += (text.empty() ? "" : "\n") + error.text();
  return text;
}

}  // namespace

ServiceDefinition service_in(const std::filesystem::path& config_folder) {
  const std::filesystem::path path = config_folder / "service.toml";
  std::ifstream in(path, std::ios::binary);
  if (!in)
    throw ConfigurationFault(path.string() +
                             ": expected a readable file; name the folder that "
                             "holds it with --config");
  const std::string text(std::istreambuf_iterator<char>(in), {});
  Loaded<ServiceDefinition> loaded = load_service(text, path.string());
  if (const auto* errors = std::get_if<std::vector<DefinitionError>>(&loaded))
    throw ConfigurationFault(all_of(*errors));
  auto& service = std::get<ServiceDefinition>(loaded);
  if (service.data_directory.is_relative())
    service.data_directory = config_folder / service.data_directory;
  return service;
}

std::vector<int> shift_begins_min(const StorePlace& place) {
  if (!place.data.empty() || place.config.empty()) return {};
  return service_in(place.config).shift_begins_min;
}

std::filesystem::path store_folder(const StorePlace& place) {
  if (!place.data.empty()) return place.data;
  if (place.config.empty())
    throw ConfigurationFault("Say where the store is: --data DIR or --config DIR");
  return service_in(place.config).data_directory;
}

}  // namespace endgate::daemon

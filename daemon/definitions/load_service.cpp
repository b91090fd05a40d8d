#include <array>

#include "daemon/definitions/load_text.h"

namespace endgate::daemon {
namespace {

constexpr std::array<NamedValue<const char*>, 5> kLogLevels{
    {{"debug", "debug"}, {"info", "info"}, {"warn", "warn"}, {"error", "error"}, {"off", "off"}}};

void read_service(TomlReader& root, ServiceDefinition& service) {
  service.data_directory = root.text("data_directory");
  service.listen_address = root.text_or("listen_address", service.listen_address);
  service.listen_port =
      static_cast<std::uint16_t>(root.integer_or("listen_port", service.listen_port, 0, 65535));
  service.plant = root.text_or("plant", service.plant);
  service.log_level = root.word_or<const char*>("log_level", service.log_level.c_str(), kLogLevels);
  service.pool_threads =
      static_cast<int>(root.integer_or("pool_threads", service.pool_threads, 1, 64));
}

}  // namespace

Loaded<ServiceDefinition> load_service(std::string_view text, const std::string& file) {
  return load_text<ServiceDefinition>(text, file, DefinitionKind::service, read_service);
}

}  // namespace endgate::daemon

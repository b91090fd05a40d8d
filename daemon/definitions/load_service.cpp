#include <array>

#include "daemon/definitions/load_text.h"

namespace endgate::daemon {
namespace {

constexpr std::array<NamedValue<const char*>, 5> kLogLevels{
    {{"debug", "debug"}, {"info", "info"}, {"warn", "warn"}, {"error", "error"}, {"off", "off"}}};

constexpr std::array<NamedValue<UpkeepAnswer>, 3> kAnswers{{{"block", UpkeepAnswer::block},
                                                            {"warn", UpkeepAnswer::warn},
                                                            {"ignore", UpkeepAnswer::ignore}}};
constexpr NumberRange kHoursOfAMonth{.min = 0, .max = 744, .min_excluded = true};

void read_upkeep(TomlReader& reader, UpkeepPolicy& policy) {
  const auto answer = [&](std::string_view key, UpkeepAnswer& value) {
    value = reader.word_or<UpkeepAnswer>(key, value, kAnswers);
  };
  answer("overdue_calibration", policy.overdue_calibration);
  answer("overdue_check", policy.overdue_check);
  answer("worn_part", policy.worn_part);
  answer("reference_check", policy.reference_check);
  policy.reference_check_within_h =
      reader.number_or("reference_check_within_h", policy.reference_check_within_h, kHoursOfAMonth);
}

void read_service(TomlReader& root, ServiceDefinition& service) {
  service.data_directory = root.text("data_directory");
  service.listen_address = root.text_or("listen_address", service.listen_address);
  if (service.listen_address != "127.0.0.1" && service.listen_address != "::1")
    root.complain("listen_address",
                  "an address of this machine alone, 127.0.0.1 or ::1, because names are claimed "
                  "and not proven; for other rooms put a proxy that asks who they are before it");
  service.listen_port =
      static_cast<std::uint16_t>(root.integer_or("listen_port", service.listen_port, 0, 65535));
  service.plant = root.text_or("plant", service.plant);
  service.log_level = root.word_or<const char*>("log_level", service.log_level.c_str(), kLogLevels);
  service.pool_threads =
      static_cast<int>(root.integer_or("pool_threads", service.pool_threads, 1, 64));
  root.section("upkeep", [&](TomlReader& reader) { read_upkeep(reader, service.upkeep); });
}

}  // namespace

Loaded<ServiceDefinition> load_service(std::string_view text, const std::string& file) {
  return load_text<ServiceDefinition>(text, file, DefinitionKind::service, read_service);
}

}  // namespace endgate::daemon

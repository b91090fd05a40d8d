#include <array>
#include <optional>
#include <string>
#include <vector>

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

// "06:00" -> 360; nothing for anything else.
std::optional<int> minute_in(const std::string& text) {
  constexpr int kHours = 24, kMinutes = 60;
  const auto two_digits = [&](std::size_t at) {
    const auto is_digit = [](char c) { return c >= '0' && c <= '9'; };
    if (!is_digit(text[at]) || !is_digit(text[at + 1])) return -1;
    return 10 * (text[at] - '0') + (text[at + 1] - '0');
  };
  if (text.size() != 5 || text[2] != ':') return std::nullopt;
  const int hour = two_digits(0), minute = two_digits(3);
  if (hour < 0 || hour >= kHours || minute < 0 || minute >= kMinutes) return std::nullopt;
  return hour * kMinutes + minute;
}

void read_shifts(TomlReader& reader, std::vector<int>& begins_min) {
  constexpr const char* kExpected =
      "begin times of shifts in plant time, earliest first, as \"06:00\"";
  for (const std::string& text : reader.texts("begins")) {
    const auto minute = minute_in(text);
    if (!minute || (!begins_min.empty() && *minute <= begins_min.back()))
      return reader.complain("begins", kExpected);
    begins_min.push_back(*minute);
  }
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
  root.section("shifts",
               [&](TomlReader& reader) { read_shifts(reader, service.shift_begins_min); });
}

}  // namespace

Loaded<ServiceDefinition> load_service(std::string_view text, const std::string& file) {
  return load_text<ServiceDefinition>(text, file, DefinitionKind::service, read_service);
}

}  // namespace endgate::daemon

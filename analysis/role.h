// What does a channel of a bench measure, and in which SI unit?

#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

namespace endgate::analysis {

enum class Role : std::uint8_t {
  discharge_pressure,   // Pa gauge, in the receiver the unit delivers into
  barometric_pressure,  // Pa abs
  flow,                 // m3/s at the meter's own reference state, total moist gas
  supply_voltage,       // V at the unit's terminals
  supply_current,       // A, signed
  speed,                // rev/s of the crank
  head_temperature,     // K
  case_temperature,     // K
  ambient_temperature,  // K
  relative_humidity,    // 0..1
  seal_pressure,        // Pa gauge, inside the housing
};
inline constexpr std::size_t kRoleCount = 11;

struct RoleFacts {
  Role role;
  std::string_view name;     // as in bench files, records and the API
  std::string_view si_unit;  // "Pa gauge", "Pa abs", "m3/s", ...
};
inline constexpr std::array<RoleFacts, kRoleCount> kRoles{{
    {Role::discharge_pressure, "discharge_pressure", "Pa gauge"},
    {Role::barometric_pressure, "barometric_pressure", "Pa abs"},
    {Role::flow, "flow", "m3/s"},
    {Role::supply_voltage, "supply_voltage", "V"},
    {Role::supply_current, "supply_current", "A"},
    {Role::speed, "speed", "rev/s"},
    {Role::head_temperature, "head_temperature", "K"},
    {Role::case_temperature, "case_temperature", "K"},
    {Role::ambient_temperature, "ambient_temperature", "K"},
    {Role::relative_humidity, "relative_humidity", "1"},
    {Role::seal_pressure, "seal_pressure", "Pa gauge"},
}};

constexpr std::string_view name_of(Role role) {
  return kRoles[static_cast<std::size_t>(role)].name;
}

}  // namespace endgate::analysis

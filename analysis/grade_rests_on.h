// Which channels does a metric rest on, and does it rest on the fitted curve?
//
// A sick channel makes a verdict void only if a graded metric rests on it.

#pragma once

#include <array>
#include <string_view>

#include "analysis/limit_subject.h"
#include "analysis/role.h"

namespace endgate::analysis {

using RoleSet = unsigned;  // bit i: role i

constexpr RoleSet roles(std::initializer_list<Role> list) {
  RoleSet set = 0;
  for (const Role role : list) set |= 1U << static_cast<unsigned>(role);
  return set;
}
constexpr bool contains(RoleSet set, Role role) {
  return ((set >> static_cast<unsigned>(role)) & 1U) != 0;
}

// The state of the gas at the inlet, and the corrections to reference conditions.
inline constexpr RoleSet kReferenceRoles =
    roles({Role::discharge_pressure, Role::barometric_pressure, Role::supply_voltage,
           Role::case_temperature, Role::ambient_temperature});
// The thermal meter's litre needs humidity and inlet temperature; the receiver the head's.  The
// balance of its gas decides how warm it is when the back leak begins.
inline constexpr RoleSet kFlowRoles =
    kReferenceRoles |
    roles({Role::flow, Role::speed, Role::head_temperature, Role::relative_humidity});
inline constexpr RoleSet kCurrentRoles = kReferenceRoles | roles({Role::supply_current});
inline constexpr RoleSet kMotorRoles = kCurrentRoles | roles({Role::speed});
inline constexpr RoleSet kBackLeakRoles =
    roles({Role::discharge_pressure, Role::barometric_pressure, Role::ambient_temperature,
           Role::head_temperature, Role::flow, Role::relative_humidity});
inline constexpr RoleSet kSealLeakRoles =
    roles({Role::seal_pressure, Role::barometric_pressure, Role::ambient_temperature,
           Role::case_temperature});
inline constexpr RoleSet kAllRoles = (1U << kRoleCount) - 1;

struct RestsOn {
  std::string_view metric;
  RoleSet roles;
  bool curve;
};

inline constexpr std::array<RestsOn, 30> kRestsOn{{
    {"fad_0", kFlowRoles, true},
    {"fad_200", kFlowRoles, true},
    {"fad_400", kFlowRoles, true},
    {"fad_600", kFlowRoles, true},
    {"fad_800", kFlowRoles, true},
    {"current_600", kCurrentRoles, false},
    {"speed_600", kReferenceRoles | roles({Role::speed}), false},
    {"volumetric_efficiency_400", kFlowRoles, true},
    {"specific_energy_400", kFlowRoles | kCurrentRoles, true},
    {"dead_head", kFlowRoles, true},
    {"back_leak", kBackLeakRoles, false},
    {"seal_leak", kSealLeakRoles, false},
    {"ripple_speed_400", kReferenceRoles, false},
    {"ripple_lock_400", 0, false},
    {"cylinder_imbalance_400", 0, false},
    {"commutator_irregularity_400", 0, false},
    {"duty_peak_head", roles({Role::head_temperature, Role::ambient_temperature}), false},
    {"duty_peak_case", roles({Role::case_temperature, Role::ambient_temperature}), false},
    {"longest_on", roles({Role::ambient_temperature}), false},
    {"duty_factor", roles({Role::ambient_temperature}), false},
    {"duty_cycle", 0, false},
    {"back_leak_service", kBackLeakRoles, false},
    {"seal_leak_service", kSealLeakRoles, false},
    {"machine_constant", kMotorRoles, false},
    {"winding_resistance", kMotorRoles, false},
    {"brush_drop", kMotorRoles, false},
    {"moment_of_inertia", kMotorRoles, false},
    {"torque_0", kMotorRoles, false},
    {"motor_efficiency_600", kMotorRoles, false},
    {"isothermal_efficiency_400", kFlowRoles | kCurrentRoles, true},
}};

// A metric that is not in the table rests on everything: void rather than a guess.  The curve rests
// on what its flows rest on, a relation on what both of its metrics do.
constexpr RestsOn rests_on(std::string_view metric) {
  for (const RestsOn& entry : kRestsOn)
    if (entry.metric == metric) return entry;
  if (metric == kCurveSubject) return {metric, kFlowRoles, true};
  if (const auto relation = relation_in(metric)) {
    const RestsOn y = rests_on(relation->metric), x = rests_on(relation->against);
    return {metric, y.roles | x.roles, y.curve || x.curve};
  }
  return {metric, kAllRoles, true};
}

}  // namespace endgate::analysis

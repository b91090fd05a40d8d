#include "daemon/bench/running_speed.h"

#include <cmath>
#include <numbers>

namespace endgate::daemon {

using analysis::Role;

std::optional<double> running_speed_rev_s(const StepView& view) {
  if (has_role(view.bench, Role::speed)) return view.frame.value(Role::speed);
  const auto voltage = view.frame.value(Role::supply_voltage);
  const auto current = view.frame.value(Role::supply_current);
  if (!voltage || !current) return std::nullopt;
  const analysis::NominalPhysics& motor = view.model.nominal;
  const double ampere = std::abs(*current);
  if (ampere < motor.friction_torque_nm / motor.machine_constant_v_s / 3) return std::nullopt;
  const double back_emf_v = *voltage - motor.brush_drop_v - motor.winding_resistance_ohm * ampere;
  return back_emf_v / (2 * std::numbers::pi * motor.machine_constant_v_s);
}

}  // namespace endgate::daemon

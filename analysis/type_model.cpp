#include "analysis/type_model.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace endgate::analysis {
namespace {

constexpr double kTwoPi = 2 * std::numbers::pi;
constexpr int kMostSpeedSteps = 60;
constexpr double kSpeedClose = 1e-12;  // of the speed without load

bool describes_a_machine(const NominalPhysics& n) {
  return n.swept_volume_m3 > 0 && n.clearance_ratio >= 0 && n.polytropic_exponent > 1 &&
         n.mechanical_efficiency > 0 && n.machine_constant_v_s > 0 &&
         n.winding_resistance_ohm > 0 && n.friction_torque_nm >= 0;
}

bool in_domain(const NominalPhysics& nominal, const TypeQuery& query) {
  return describes_a_machine(nominal) && query.inlet_pressure_abs_pa > 1000 &&
         query.discharge_gauge_pa > -query.inlet_pressure_abs_pa / 2 &&
         query.discharge_gauge_pa < 1e8 && query.supply_voltage_v > nominal.brush_drop_v &&
         query.supply_voltage_v < 1e4;
}

struct Cylinder {
  double suction_abs_pa = 0;
  double filling = 0;  // v
  double work_j = 0;   // W
};

Cylinder cylinder_at(const NominalPhysics& n, const TypeQuery& query, double speed_rev_s) {
  const double loss = (speed_rev_s / 50) * (speed_rev_s / 50);
  const double discharge = query.inlet_pressure_abs_pa + query.discharge_gauge_pa;
  Cylinder cylinder;
  cylinder.suction_abs_pa = std::max(query.inlet_pressure_abs_pa - n.suction_loss_pa * loss,
                                     0.05 * query.inlet_pressure_abs_pa);
  const double ratio =
      std::max((discharge + n.discharge_loss_pa * loss) / cylinder.suction_abs_pa, 1.0);
  const double root = std::pow(ratio, 1 / n.polytropic_exponent);
  cylinder.filling = std::max(0.0, 1 + n.clearance_ratio - n.clearance_ratio * root);
  const double exponent = n.polytropic_exponent / (n.polytropic_exponent - 1);
  cylinder.work_j = exponent * cylinder.suction_abs_pa * n.swept_volume_m3 * cylinder.filling *
                    (ratio / root - 1);  // rho^((n-1)/n) = rho / rho^(1/n)
  return cylinder;
}

double current_a(const NominalPhysics& n, const Cylinder& cylinder) {
  const double torque = cylinder.work_j / (kTwoPi * n.mechanical_efficiency) + n.friction_torque_nm;
  return torque / n.machine_constant_v_s;
}

// Voltage that the unit would need to run this fast, less what it has.
double voltage_lack(const NominalPhysics& n, const TypeQuery& query, double speed_rev_s) {
  const double current = current_a(n, cylinder_at(n, query, speed_rev_s));
  return n.winding_resistance_ohm * current + n.machine_constant_v_s * kTwoPi * speed_rev_s +
         n.brush_drop_v - query.supply_voltage_v;
}

struct Bracket {
  double low = 0;
  double high = 0;
  double at_low = 0;   // voltage lack, < 0
  double at_high = 0;  // > 0
};

// False position with the Illinois rule: an end that stays twice has its value halved.
double running_speed(const NominalPhysics& n, const TypeQuery& query) {
  const double free = (query.supply_voltage_v - n.brush_drop_v) / (kTwoPi * n.machine_constant_v_s);
  Bracket b{0, free, voltage_lack(n, query, 0), voltage_lack(n, query, free)};
  if (!(b.at_low < 0)) return 0;
  if (!(b.at_high > 0)) return free;
  int stayed = 0;  // > 0: the low end moved last
  for (int i = 0; i < kMostSpeedSteps && b.high - b.low > kSpeedClose * free; ++i) {
    const double middle = b.high - b.at_high * (b.high - b.low) / (b.at_high - b.at_low);
    const double lack = voltage_lack(n, query, middle);
    if (std::abs(lack) < 1e-13 * query.supply_voltage_v) return middle;
    if (lack < 0) {
      b.low = middle;
      b.at_low = lack;
      if (stayed > 0) b.at_high /= 2;
      stayed = 1;
    } else {
      b.high = middle;
      b.at_high = lack;
      if (stayed < 0) b.at_low /= 2;
      stayed = -1;
    }
  }
  return (b.low + b.high) / 2;
}

}  // namespace

Outcome<TypeState> solve_type_model(const NominalPhysics& nominal, const TypeQuery& query) {
  if (!in_domain(nominal, query))
    return Refusal{RefusalKind::value_out_of_domain,
                   "the nominal data of the model allow no running unit at this state",
                   std::nullopt};
  TypeState state;
  state.speed_rev_s = running_speed(nominal, query);
  if (!(state.speed_rev_s > 0.1))
    return Refusal{RefusalKind::value_out_of_domain, "the nominal unit would stall here",
                   std::nullopt};
  const Cylinder cylinder = cylinder_at(nominal, query, state.speed_rev_s);
  state.supply_current_a = current_a(nominal, cylinder);
  const double inlet = query.inlet_pressure_abs_pa;
  const double discharge = inlet + query.discharge_gauge_pa;
  state.flow_inlet_m3_s = state.speed_rev_s * nominal.swept_volume_m3 * nominal.heating_factor *
                              cylinder.filling * cylinder.suction_abs_pa / inlet -
                          nominal.leak_m3_s_pa2 * (discharge * discharge - inlet * inlet);
  return state;
}

}  // namespace endgate::analysis

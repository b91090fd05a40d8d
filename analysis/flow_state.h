// In what state is this flow counted?
//
//   MoistMass     kg/s    as it passes, vapour included
//   DryMass       kg/s    of the dry air in it
//   StandardFlow  m3/s    dry air of the state by which a meter or a standard defines its litre
//   FreeAir       m3/s    with its vapour, at the state of the unit's inlet (ISO 1217)
//
//   100 L/min of one are 92 of another, and a number does not show which.  So each is a type of its
//   own, one double inside: they add and compare among themselves alone, and become each other only
//   where the state is given that the conversion needs.
//
//   A thermal meter reads the moist mass and calls it litres of dry air of its own reference state.
//
// Source: analysis/moist_air.h.

#pragma once

#include <algorithm>
#include <compare>

#include "analysis/moist_air.h"

namespace endgate::analysis {

template <class State>
class Flow {
 public:
  constexpr Flow() = default;
  constexpr explicit Flow(double si) : si_(si) {}

  [[nodiscard]] constexpr double si() const { return si_; }

  friend constexpr Flow operator+(Flow a, Flow b) { return Flow(a.si_ + b.si_); }
  friend constexpr Flow operator-(Flow a, Flow b) { return Flow(a.si_ - b.si_); }
  friend constexpr Flow operator*(double by, Flow a) { return Flow(by * a.si_); }
  friend constexpr double operator/(Flow a, Flow b) { return a.si_ / b.si_; }
  friend constexpr auto operator<=>(Flow, Flow) = default;

 private:
  double si_ = 0;
};

using MoistMass = Flow<struct MoistMassState>;
using DryMass = Flow<struct DryMassState>;
using StandardFlow = Flow<struct StandardState>;
using FreeAir = Flow<struct InletState>;

// What a thermal meter whose litre is defined at `reference` makes of it, and back.
[[nodiscard]] inline MoistMass mass_read_as(StandardFlow read, const DryReference& reference) {
  return MoistMass(dry_density_kg_m3(reference) * read.si());
}
[[nodiscard]] inline StandardFlow read_of(MoistMass mass, const DryReference& reference) {
  return StandardFlow(mass.si() / dry_density_kg_m3(reference));
}

// `ratio`: kg of vapour per kg of dry air.
[[nodiscard]] inline DryMass without_vapour(MoistMass mass, double ratio) {
  return DryMass(mass.si() / (1 + ratio));
}

// The same mass in litres of another reference state.
[[nodiscard]] inline StandardFlow in_litres_of(StandardFlow flow, const DryReference& from,
                                               const DryReference& to) {
  return StandardFlow(flow.si() * from.pressure_abs_pa / to.pressure_abs_pa * to.temperature_k /
                      from.temperature_k);
}

// The volume that it had, with its vapour, at the inlet.
[[nodiscard]] inline FreeAir free_air(DryMass mass, const AirState& inlet) {
  const double gas = kGasConstantDryAir + humidity_ratio(inlet) * kGasConstantVapour;
  return FreeAir(mass.si() * gas * inlet.temperature_k / std::max(inlet.pressure_abs_pa, 1.0));
}

}  // namespace endgate::analysis

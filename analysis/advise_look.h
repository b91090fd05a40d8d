// One look at a hold under way: flow, speed and current at reference conditions, from running sums.
//
// The quantities and their uncertainties are those of ESTIMATE in analysis/advise.h.

#pragma once

#include <array>
#include <optional>

#include "analysis/advise.h"
#include "analysis/moist_air.h"
#include "analysis/receiver_gas.h"
#include "analysis/reference_conditions.h"
#include "analysis/window_moments.h"

namespace endgate::analysis {

// What every look needs; a look without one of them has nothing to say.
inline constexpr std::array kNeededForLook = {Role::discharge_pressure,
                                              Role::flow,
                                              Role::supply_voltage,
                                              Role::supply_current,
                                              Role::speed,
                                              Role::barometric_pressure,
                                              Role::ambient_temperature,
                                              Role::head_temperature,
                                              Role::case_temperature};

// What one hold shows, carried to reference conditions.
struct Seen {
  Standpoint flow, speed, current;
};

// Both outlive the look.
class HoldLook {
 public:
  HoldLook(const StepSums& sums, const Context& context) : sums_(sums), context_(context) {}

  // False: something is missing, and nothing else may be asked.
  [[nodiscard]] bool take();
  [[nodiscard]] bool long_enough() const;
  [[nodiscard]] bool steady() const;
  [[nodiscard]] Seen seen() const;

 private:
  [[nodiscard]] const Moments& of(Role role) const;
  [[nodiscard]] const ChannelFacts& facts(Role role) const;
  void take_moments(Role role);
  [[nodiscard]] bool take_state();
  [[nodiscard]] double rise_k(double room_k, double gauge_pa) const;
  [[nodiscard]] GasSettings gas_settings() const;
  [[nodiscard]] bool take_gas();
  void add_storage(const GasSettings& settings);
  [[nodiscard]] double u_storage_rel() const;
  [[nodiscard]] double u_calibration_rel(Role role) const;
  [[nodiscard]] Standpoint plain(Role role, double carry, double per_case_k) const;
  [[nodiscard]] Standpoint flow() const;

  const StepSums& sums_;
  const Context& context_;
  std::array<std::optional<Moments>, kRoleCount> moments_{};
  Window window_;
  PointState state_;
  AirState inlet_;
  Sensitivities sensitivities_;
  Carry carry_;
  Moments inflow_;
  double in_kg_s_ = 0;
  double u_in_kg_s_ = 0;
};

}  // namespace endgate::analysis

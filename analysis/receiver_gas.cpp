#include "analysis/receiver_gas.h"

#include <algorithm>
#include <cmath>

#include "analysis/moist_air.h"

namespace endgate::analysis {
namespace {

constexpr double kLongestStep_s = 0.025;
constexpr int kMostGasSteps = 500;
constexpr double kColdest_k = 180;
constexpr double kHottest_k = 700;
constexpr double kHeatCapacityOverR = kHeatRatio / (kHeatRatio - 1);  // cp / R

double bounded_k(double temperature_k) { return std::clamp(temperature_k, kColdest_k, kHottest_k); }

double parts_of(double length_s) {
  return std::max(1.0, std::min<double>(kMostGasSteps, std::ceil(length_s / kLongestStep_s)));
}

// d R_d + v R_v: pressure times volume per kelvin.
double elasticity_j_k(const GasContent& content) {
  return content.dry_kg * kGasConstantDryAir + content.vapour_kg * kGasConstantVapour;
}

// c of the model; negative while water evaporates.
double condensing_kg_s(const GasContent& content, const Receiver& receiver, double gas_k) {
  const double saturated =
      saturation_pressure_pa(gas_k) * receiver.volume_m3 / (kGasConstantVapour * gas_k);
  const double excess = content.vapour_kg - saturated;
  if (excess > 0) return excess / kFog_s;
  return receiver.evaporation_s > 0 && content.water_kg > 0 ? excess / receiver.evaporation_s : 0;
}

// Mass that condenses in a short time: no more than there is.
double condensed_kg(const GasContent& content, const Receiver& receiver, double gas_k,
                    double length_s) {
  return std::clamp(condensing_kg_s(content, receiver, gas_k) * length_s, -content.water_kg,
                    0.5 * content.vapour_kg);
}

double heat_of_condensing_j_kg(double gas_k) {
  return kLatentHeat_j_kg - kHeatCapacityOverR * kGasConstantVapour * gas_k;
}

void condense(GasContent& content, double amount_kg) {
  content.vapour_kg -= amount_kg;
  content.water_kg += amount_kg;
}

void warm_wall(GasContent& content, const Receiver& receiver, double heat_j, double room_k,
               double length_s) {
  if (!(receiver.wall_j_k > 0)) {
    content.wall_k = room_k;
    return;
  }
  const double to_room_j = receiver.wall_to_room_w_k * (content.wall_k - room_k) * length_s;
  content.wall_k = bounded_k(content.wall_k + (heat_j - to_room_j) / receiver.wall_j_k);
}

// One moment of the readings, in absolute terms.
struct Moment {
  double pressure_abs_pa = 0;
  double metered_kg_s = 0;
  double room_k = 0;
  double inlet_gas_k = 0;
};

class Follower {
 public:
  Follower(const GasReadings& readings, const GasSettings& settings, GasHistory& history)
      : readings_(readings),
        settings_(settings),
        history_(history),
        inlet_vapour_(settings.inlet_humidity_ratio / (1 + settings.inlet_humidity_ratio)),
        inlet_cp_(kHeatCapacityOverR * mixture_gas_constant(settings.inlet_humidity_ratio)) {}

  void run() {
    const std::size_t count = readings_.time_s.size();
    history_.inflow_kg_s.assign(count, 0);
    history_.temperature_k.assign(count, 0);
    history_.content.assign(count, {});
    for (std::size_t i = 0; i < count; ++i) {
      choose_receiver(i);
      note(i);
      if (i + 1 < count && receiver_ != nullptr) advance(i);
    }
  }

 private:
  [[nodiscard]] Moment moment(std::size_t i) const {
    Moment now;
    now.pressure_abs_pa =
        std::max(1000.0, settings_.inlet_pressure_abs_pa + settings_.gauge(readings_.gauge_pa[i]));
    now.metered_kg_s = shut(i) ? 0 : settings_.metered(readings_.metered_kg_s[i]);
    now.room_k = bounded_k(settings_.ambient(readings_.ambient_k[i]));
    now.inlet_gas_k =
        bounded_k(now.room_k +
                  settings_.inlet_head_share * (settings_.head(readings_.head_k[i]) - now.room_k) +
                  settings_.inlet_discharge_share * rise_k(i));
    return now;
  }

  [[nodiscard]] double rise_k(std::size_t i) const {
    return readings_.compression_rise_k.empty() ? 0 : readings_.compression_rise_k[i];
  }

  [[nodiscard]] bool shut(std::size_t i) const {
    return !readings_.outlet_shut.empty() && readings_.outlet_shut[i] != 0;
  }

  void choose_receiver(std::size_t i) {
    const std::uint8_t index = readings_.receiver[i];
    const Receiver* chosen =
        index < settings_.receivers.size() ? &settings_.receivers[index] : nullptr;
    if (chosen != nullptr && !(chosen->volume_m3 > 0)) chosen = nullptr;
    if (chosen == receiver_) return;
    receiver_ = chosen;
    const Moment now = moment(i);
    content_ = {};
    content_.wall_k = now.room_k;
    if (receiver_ == nullptr) return;
    const double mass = now.pressure_abs_pa * receiver_->volume_m3 /
                        (mixture_gas_constant(settings_.inlet_humidity_ratio) * now.room_k);
    content_.dry_kg = (1 - inlet_vapour_) * mass;
    content_.vapour_kg = inlet_vapour_ * mass;
  }

  [[nodiscard]] double temperature(double pressure_abs_pa) const {
    return bounded_k(pressure_abs_pa * receiver_->volume_m3 / elasticity_j_k(content_));
  }

  // cp of what leaves.
  [[nodiscard]] double cp() const {
    return kHeatCapacityOverR * elasticity_j_k(content_) / (content_.dry_kg + content_.vapour_kg);
  }

  void note(std::size_t i) {
    const Moment now = moment(i);
    history_.content[i] = content_;
    if (receiver_ == nullptr) {
      history_.temperature_k[i] = now.room_k;
      history_.inflow_kg_s[i] = readings_.motor_on[i] != 0 ? now.metered_kg_s : 0;
      return;
    }
    const double gas_k = temperature(now.pressure_abs_pa);
    history_.temperature_k[i] = gas_k;
    if (readings_.motor_on[i] == 0) return;
    const double heat =
        conductance_w_k(*receiver_, now.pressure_abs_pa) * (gas_k - content_.wall_k) -
        condensing_kg_s(content_, *receiver_, gas_k) * heat_of_condensing_j_kg(gas_k);
    history_.inflow_kg_s[i] =
        (now.metered_kg_s * cp() * gas_k + heat) / (inlet_cp_ * now.inlet_gas_k);
  }

  // From sample i to i + 1, in equal steps along the straight line between the two.
  void advance(std::size_t i) {
    const double length = readings_.time_s[i + 1] - readings_.time_s[i];
    if (!(length > 0)) return;
    const auto steps = static_cast<int>(parts_of(length));
    const Moment from = moment(i);
    const Moment to = moment(i + 1);
    const bool motor_on = readings_.motor_on[i] != 0;
    meter_lag_s_ = shut(i) || shut(i + 1) ? 0 : settings_.meter_lag_s;
    for (int k = 0; k < steps; ++k)
      step(from, to, (k + 0.5) / steps, {1.0 / steps, length / steps}, motor_on);
  }

  struct Stride {
    double share = 1;  // of the way to the next sample
    double length_s = 0;
  };

  void step(const Moment& from, const Moment& to, double at, const Stride& stride, bool motor_on) {
    const auto between = [at](double left, double right) { return left + at * (right - left); };
    const double pressure = between(from.pressure_abs_pa, to.pressure_abs_pa);
    const double room = between(from.room_k, to.room_k);
    const double gas = temperature(pressure);
    const double rise = stride.share * (to.pressure_abs_pa - from.pressure_abs_pa);
    const double heat_j =
        conductance_w_k(*receiver_, pressure) * (gas - content_.wall_k) * stride.length_s;
    const double amount = condensed_kg(content_, *receiver_, gas, stride.length_s);
    const double needed_j = receiver_->volume_m3 / (kHeatRatio - 1) * rise + heat_j -
                            amount * heat_of_condensing_j_kg(gas);
    if (motor_on) {
      const double out_kg = between(from.metered_kg_s, to.metered_kg_s) * stride.length_s +
                            meter_lag_s_ * stride.share * (to.metered_kg_s - from.metered_kg_s);
      let_in((needed_j + cp() * gas * out_kg) /
             (inlet_cp_ * between(from.inlet_gas_k, to.inlet_gas_k)));
      let_out(out_kg);
    } else {
      let_out(-needed_j / (cp() * gas));
    }
    condense(content_, amount);
    warm_wall(content_, *receiver_, heat_j, room, stride.length_s);
    keep_possible(pressure);
  }

  void let_in(double mass_kg) {
    content_.dry_kg += (1 - inlet_vapour_) * mass_kg;
    content_.vapour_kg += inlet_vapour_ * mass_kg;
  }

  void let_out(double mass_kg) {
    const double left = 1 - mass_kg / (content_.dry_kg + content_.vapour_kg);
    content_.dry_kg *= left;
    content_.vapour_kg *= left;
  }

  // Readings that make no sense must not make numbers that are not finite.
  void keep_possible(double pressure_abs_pa) {
    const double whole = pressure_abs_pa * receiver_->volume_m3;
    const double now = elasticity_j_k(content_);
    const double kept = std::clamp(now, whole / kHottest_k, whole / kColdest_k);
    if (kept == now && content_.vapour_kg >= 0 && content_.dry_kg > 0) return;
    const double vapour_share = std::clamp(content_.vapour_kg * kGasConstantVapour / now, 0.0, 0.5);
    const double sure = std::isfinite(vapour_share) ? vapour_share : 0;
    content_.vapour_kg = sure * kept / kGasConstantVapour;
    content_.dry_kg = (1 - sure) * kept / kGasConstantDryAir;
  }

  const GasReadings& readings_;
  const GasSettings& settings_;
  GasHistory& history_;
  const double inlet_vapour_;  // kg per kg of what enters
  const double inlet_cp_;
  double meter_lag_s_ = 0;  // of the stretch between two samples
  const Receiver* receiver_ = nullptr;
  GasContent content_;
};

// Energy of the gas as its temperature; one step of a shut receiver.
void step_shut(ShutReceiver& now, double& gas_k, double length_s) {
  const Receiver& receiver = now.receiver;
  const double pressure = elasticity_j_k(now.content) * gas_k / receiver.volume_m3;
  const double heat_j =
      conductance_w_k(receiver, pressure) * (gas_k - now.content.wall_k) * length_s;
  const double amount = condensed_kg(now.content, receiver, gas_k, length_s);
  const double energy_j = elasticity_j_k(now.content) * gas_k / (kHeatRatio - 1) - heat_j +
                          amount * heat_of_condensing_j_kg(gas_k);
  condense(now.content, amount);
  gas_k = bounded_k(energy_j * (kHeatRatio - 1) / elasticity_j_k(now.content));
  warm_wall(now.content, receiver, heat_j, now.room_k, length_s);
}

}  // namespace

double compression_rise_k(double room_k, double pressure_ratio, double polytropic_exponent) {
  if (!(pressure_ratio > 1) || !(polytropic_exponent > 1)) return 0;
  return room_k * (std::pow(pressure_ratio, (polytropic_exponent - 1) / polytropic_exponent) - 1);
}

double conductance_w_k(const Receiver& receiver, double pressure_abs_pa) {
  const double ratio = std::max(pressure_abs_pa, 0.0) / 600000;
  const double grown = receiver.conductance_exponent == 0.5
                           ? std::sqrt(ratio)  // the usual exponent, and much cheaper
                           : std::pow(ratio, receiver.conductance_exponent);
  return receiver.conductance_w_k * grown;
}

double cooling_time_s(const Receiver& receiver, double pressure_abs_pa, double temperature_k) {
  const double conductance = conductance_w_k(receiver, pressure_abs_pa);
  if (!(conductance > 0) || !(temperature_k > 0)) return 0;
  return pressure_abs_pa * receiver.volume_m3 / ((kHeatRatio - 1) * temperature_k * conductance);
}

double storage_kg_pa(const Receiver& receiver, double gas_constant, double inlet_gas_k) {
  return receiver.volume_m3 / (kHeatRatio * gas_constant * inlet_gas_k);
}

void follow_gas(const GasReadings& readings, const GasSettings& settings, GasHistory& history) {
  Follower(readings, settings, history).run();
}

std::vector<double> shut_pressure_abs_pa(const ShutReceiver& start,
                                         const std::vector<double>& time_s) {
  ShutReceiver now = start;
  double gas_k =
      bounded_k(start.pressure_abs_pa * start.receiver.volume_m3 / elasticity_j_k(start.content));
  std::vector<double> pressure_abs_pa;
  pressure_abs_pa.reserve(time_s.size());
  double at_s = 0;
  for (const double time : time_s) {
    const double length = std::max(0.0, time - at_s);
    const double parts = parts_of(length);
    for (int k = 0; k < static_cast<int>(parts); ++k) step_shut(now, gas_k, length / parts);
    at_s = std::max(at_s, time);
    pressure_abs_pa.push_back(elasticity_j_k(now.content) * gas_k / now.receiver.volume_m3);
  }
  return pressure_abs_pa;
}

}  // namespace endgate::analysis

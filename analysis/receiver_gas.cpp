#include "analysis/receiver_gas.h"

#include <algorithm>
#include <cmath>

#include "analysis/moist_air.h"

namespace endgate::analysis {
namespace {

constexpr double kLongestStep_s = 0.025;
constexpr int kMostSteps = 500;
constexpr double kColdest_k = 180;
constexpr double kHottest_k = 700;
constexpr double kHeatCapacityOverR = kHeatRatio / (kHeatRatio - 1);  // cp / R

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
        cp_(kHeatCapacityOverR * settings.gas_constant) {}

  void run() {
    const std::size_t count = readings_.time_s.size();
    history_.inflow_kg_s.assign(count, 0);
    history_.temperature_k.assign(count, 0);
    history_.wall_k.assign(count, 0);
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
    now.metered_kg_s = settings_.metered(readings_.metered_kg_s[i]);
    now.room_k = std::clamp(settings_.ambient(readings_.ambient_k[i]), kColdest_k, kHottest_k);
    const double inlet = now.room_k + settings_.inlet_head_share *
                                          (settings_.head(readings_.head_k[i]) - now.room_k);
    now.inlet_gas_k = std::clamp(inlet, kColdest_k, kHottest_k);
    return now;
  }

  void choose_receiver(std::size_t i) {
    const std::uint8_t index = readings_.receiver[i];
    const Receiver* chosen =
        index < settings_.receivers.size() ? &settings_.receivers[index] : nullptr;
    if (chosen != nullptr && !(chosen->volume_m3 > 0)) chosen = nullptr;
    if (chosen == receiver_) return;
    receiver_ = chosen;
    const Moment now = moment(i);
    wall_k_ = now.room_k;
    if (receiver_ != nullptr) mass_kg_ = mass_at(now.pressure_abs_pa, now.room_k);
  }

  [[nodiscard]] double mass_at(double pressure_abs_pa, double temperature_k) const {
    return pressure_abs_pa * receiver_->volume_m3 / (settings_.gas_constant * temperature_k);
  }

  [[nodiscard]] double temperature(double pressure_abs_pa) const {
    return pressure_abs_pa * receiver_->volume_m3 / (settings_.gas_constant * mass_kg_);
  }

  void note(std::size_t i) {
    const Moment now = moment(i);
    history_.wall_k[i] = has_wall() ? wall_k_ : now.room_k;
    if (receiver_ == nullptr) {
      history_.temperature_k[i] = now.room_k;
      history_.inflow_kg_s[i] = readings_.motor_on[i] != 0 ? now.metered_kg_s : 0;
      return;
    }
    const double gas_k = temperature(now.pressure_abs_pa);
    history_.temperature_k[i] = gas_k;
    if (readings_.motor_on[i] == 0) return;
    const double heat =
        conductance_w_k(*receiver_, now.pressure_abs_pa) * (gas_k - history_.wall_k[i]);
    history_.inflow_kg_s[i] = (now.metered_kg_s * cp_ * gas_k + heat) / (cp_ * now.inlet_gas_k);
  }

  // From sample i to i + 1, in equal steps along the straight line between the two.
  void advance(std::size_t i) {
    const double length = readings_.time_s[i + 1] - readings_.time_s[i];
    if (!(length > 0)) return;
    const double wanted = std::min<double>(kMostSteps, std::ceil(length / kLongestStep_s));
    const int steps = std::max(1, static_cast<int>(wanted));
    const Moment from = moment(i);
    const Moment to = moment(i + 1);
    const bool motor_on = readings_.motor_on[i] != 0;
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
    const double wall = has_wall() ? wall_k_ : room;
    const double inlet = between(from.inlet_gas_k, to.inlet_gas_k);
    const double gas = temperature(pressure);
    const double rise = stride.share * (to.pressure_abs_pa - from.pressure_abs_pa);
    const double heat_j = conductance_w_k(*receiver_, pressure) * (gas - wall) * stride.length_s;
    const double stored_j = receiver_->volume_m3 / (kHeatRatio - 1) * rise + heat_j;
    if (motor_on) {
      const double out_kg =
          between(from.metered_kg_s, to.metered_kg_s) * stride.length_s +
          settings_.meter_lag_s * stride.share * (to.metered_kg_s - from.metered_kg_s);
      mass_kg_ += (stored_j + cp_ * gas * out_kg) / (cp_ * inlet) - out_kg;
    } else {
      mass_kg_ += stored_j / (cp_ * gas);
    }
    warm_wall(heat_j - receiver_->wall_to_room_w_k * (wall - room) * stride.length_s);
    mass_kg_ = std::clamp(mass_kg_, mass_at(pressure, kHottest_k), mass_at(pressure, kColdest_k));
  }

  [[nodiscard]] bool has_wall() const { return receiver_ != nullptr && receiver_->wall_j_k > 0; }

  void warm_wall(double heat_j) {
    if (has_wall())
      wall_k_ = std::clamp(wall_k_ + heat_j / receiver_->wall_j_k, kColdest_k, kHottest_k);
  }

  const GasReadings& readings_;
  const GasSettings& settings_;
  GasHistory& history_;
  const double cp_;
  const Receiver* receiver_ = nullptr;
  double mass_kg_ = 0;
  double wall_k_ = 0;
};

}  // namespace

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

}  // namespace endgate::analysis

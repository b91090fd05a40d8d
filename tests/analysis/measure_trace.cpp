#include "tests/analysis/measure_trace.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <map>
#include <random>
#include <stdexcept>

#include "analysis/moist_air.h"
#include "analysis/receiver_gas.h"
#include "analysis/type_model.h"

namespace endgate::analysis::made {
namespace {

double bump(double gauge_pa) {
  const double away = (gauge_pa - 400e3) / 80e3;
  return std::exp(-away * away);
}

constexpr double kRamp_s = 5;
constexpr double kStep_s = 0.001;
constexpr int kEvery = 20;  // 50 samples a second

ChannelFacts facts(const std::string& id, Role role, double sigma, double correlation_s,
                   double scale, double offset) {
  ChannelFacts f;
  f.id = id;
  f.role = role;
  f.scale = scale;
  f.offset_si = offset;
  f.noise_sigma_si = sigma;
  f.noise_correlation_s = correlation_s;
  f.calibration.id = "calibration north@1";
  return f;
}

std::vector<ChannelFacts> channels(const Manners& m) {
  std::vector<ChannelFacts> c{facts("p", Role::discharge_pressure, 60, 0.05, 20, -50000),
                              facts("baro", Role::barometric_pressure, 4, 1.0, 2, 0),
                              facts("flow", Role::flow, 8.3e-7, 0.2, 8.3333e-8, 0),
                              facts("volt", Role::supply_voltage, 0.005, 0.02, 0.001, 0),
                              facts("amp", Role::supply_current, 0.015, 0.03, 0.005, 0),
                              facts("speed", Role::speed, 8.3e-3, 0.05, 1.66667e-3, 0),
                              facts("head", Role::head_temperature, 0.05, 0.5, 0.05, 273.15),
                              facts("case", Role::case_temperature, 0.02, 0.5, 0.02, 273.15),
                              facts("room", Role::ambient_temperature, 0.02, 0.5, 0.02, 273.15),
                              facts("rh", Role::relative_humidity, 0.002, 1, 0.001, 0),
                              facts("seal", Role::seal_pressure, 2, 0.05, 1, 0)};
  c[2].lag_s = m.meter_lag_s;
  for (ChannelFacts& one : c) {
    one.range_min_si = -1e6;
    one.range_max_si = 1e7;
    if (m.counts) continue;
    one.scale = 1;
    one.offset_si = 0;
  }
  c[0].calibration.u_gain_rel = 0.001;
  c[0].calibration.u_offset_si = 100;
  c[1].calibration.u_offset_si = 30;
  c[2].calibration.u_gain_rel = 0.004;
  c[3].calibration.u_gain_rel = 0.0005;
  c[4].calibration.u_gain_rel = 0.002;
  c[5].calibration.u_gain_rel = 0.0002;
  for (const int i : {6, 7, 8}) c[static_cast<std::size_t>(i)].calibration.u_offset_si = 0.3;
  c[9].calibration.u_offset_si = 0.02;
  c[10].calibration.u_gain_rel = 0.003;
  return c;
}

NominalPhysics nominal() {
  NominalPhysics n;
  n.swept_volume_m3 = 1.9352368e-05;
  n.clearance_ratio = 0.08;
  n.polytropic_exponent = 1.25;
  n.heating_factor = 0.95;
  n.suction_loss_pa = 3000;
  n.discharge_loss_pa = 8000;
  n.mechanical_efficiency = 0.85;
  n.friction_torque_nm = 0.10;
  n.machine_constant_v_s = 0.036;
  n.winding_resistance_ohm = 0.06;
  n.brush_drop_v = 0.9;
  n.leak_m3_s_pa2 = 2.05e-17;
  return n;
}

// Values of one moment, by channel id.
using Moment = std::map<std::string, double>;

class Maker {
 public:
  Maker(const Truth& truth, const Manners& manners, const Context& context)
      : truth_(truth), m_(manners), context_(context) {
    for (const ChannelFacts& facts : context.bench.channels) {
      RawChannel channel;
      channel.id = facts.id;
      channel.kind = RawKind::float64;
      trace_.channels.push_back(channel);
    }
    const double mass = m_.barometer_abs_pa * receiver().volume_m3 / (gas_ * m_.room_k);
    dry_kg_ = mass / (1 + humidity_);
    vapour_kg_ = mass - dry_kg_;
  }

  RawTrace run() {
    step("zero", StepKind::zero, 0, 1.5, 0);
    step("start", StepKind::start, 0, 0.5, 0);
    step("warm_up", StepKind::warm_up, 0, 6, 0);
    if (m_.pump_up) {
      hold(0);
      pump_up();
      hold(800);
      hold(600);
    } else if (m_.ramp) {
      hold(0);
      ramp();
      hold(600);
      hold(800);
    } else {
      for (int kpa = 0; kpa <= 800; kpa += 200) hold(kpa);
    }
    back_leak();
    seal_leak();
    step("vent", StepKind::vent, 0, 0.5, 0);
    return std::move(trace_);
  }

 private:
  [[nodiscard]] const Receiver& receiver() const { return context_.bench.receivers.front(); }

  StepMark& begin(const std::string& id, StepKind kind, double target) {
    StepMark mark;
    mark.id = id;
    mark.kind = kind;
    mark.target_gauge_pa = target;
    mark.receiver = "small";
    mark.start_us = time_us_;
    trace_.steps.push_back(mark);
    return trace_.steps.back();
  }

  // Pressure goes to the target in a straight line, then is held there.
  void step(const std::string& id, StepKind kind, double target, double length, double ramp) {
    begin(id, kind, target);
    const bool motor = kind == StepKind::start || kind == StepKind::warm_up ||
                       kind == StepKind::hold || kind == StepKind::ramp;
    const double from = gauge_;
    const auto ticks = static_cast<int>(std::lround(length / kStep_s));
    const auto ramp_ticks = static_cast<int>(std::lround(ramp / kStep_s));
    for (int i = 0; i < ticks; ++i) {
      const bool rising = i < ramp_ticks;
      const double next = rising ? from + (target - from) * (i + 1) / ramp_ticks : target;
      run_gas(next, motor);
      if (i == ramp_ticks) trace_.steps.back().ready_us = time_us_;
      tick(motor);
    }
    trace_.steps.back().end_us = time_us_;
  }

  void hold(int kpa) {
    step("hold_" + std::to_string(kpa), StepKind::hold, kpa * 1e3, m_.ramp_s + m_.hold_s,
         m_.ramp_s);
  }

  void ramp() {
    step("ramp", StepKind::ramp, 600e3, kRamp_s, kRamp_s);
    trace_.steps.back().ready_us = trace_.steps.back().start_us;
  }

  // Nothing leaves: the pressure follows from what comes in.
  void pump_up() {
    begin("pump_up", StepKind::pump_up, 800000).ready_us = time_us_;
    while (gauge_ < 800000) {
      const double pressure = m_.barometer_abs_pa + gauge_;
      const double gas_k = pressure * receiver().volume_m3 / elasticity();
      const double in = inflow_kg_s(gauge_);
      const double heat = conductance_w_k(receiver(), pressure) * (gas_k - m_.room_k);
      const double latent = condense_j(gas_k) / kStep_s;
      let_in(in);
      gauge_ +=
          0.4 / receiver().volume_m3 * (in * 3.5 * gas_ * inlet_k() - heat + latent) * kStep_s;
      read_meter(0);
      tick(true);
    }
    trace_.steps.back().end_us = time_us_;
  }

  void let_in(double mass_kg_s) {
    dry_kg_ += mass_kg_s * kStep_s / (1 + humidity_);
    vapour_kg_ += mass_kg_s * kStep_s * humidity_ / (1 + humidity_);
  }

  void read_meter(double flow_m3_s) {
    metered_ += (m_.meter_lag_s > 0 ? kStep_s / m_.meter_lag_s : 1) * (flow_m3_s - metered_);
  }

  void run_gas(double next_gauge, bool motor) {
    const double pressure = m_.barometer_abs_pa + (gauge_ + next_gauge) / 2;
    const double gas_k = pressure * receiver().volume_m3 / elasticity();
    const double in = motor ? inflow_kg_s((gauge_ + next_gauge) / 2) : 0;
    const double heat = conductance_w_k(receiver(), pressure) * (gas_k - m_.room_k);
    const double rise = receiver().volume_m3 / 0.4 * (next_gauge - gauge_) / kStep_s;
    const double latent = condense_j(gas_k) / kStep_s;
    const double out =
        (in * 3.5 * gas_ * inlet_k() - heat - rise + latent) / (3.5 * gas_now() * gas_k);
    let_out(out * kStep_s);
    let_in(in);
    gauge_ = next_gauge;
    read_meter(motor ? out / meter_density() : 0);
  }

  [[nodiscard]] double elasticity() const {
    return dry_kg_ * kGasConstantDryAir + vapour_kg_ * kGasConstantVapour;
  }
  [[nodiscard]] double gas_now() const { return elasticity() / (dry_kg_ + vapour_kg_); }

  void let_out(double mass_kg) {
    const double left = 1 - mass_kg / (dry_kg_ + vapour_kg_);
    dry_kg_ *= left;
    vapour_kg_ *= left;
  }

  // Fog within 0.1 s; what evaporates needs its time.  Heat that the gas is given.
  double condense_j(double gas_k) {
    const double saturated =
        saturation_pressure_pa(gas_k) * receiver().volume_m3 / (kGasConstantVapour * gas_k);
    double amount = (vapour_kg_ - saturated) * kStep_s;
    if (amount > 0)
      amount /= 0.1;
    else
      amount = m_.evaporation_s > 0 ? std::max(-water_kg_, amount / m_.evaporation_s) : 0;
    vapour_kg_ -= amount;
    water_kg_ += amount;
    return amount * (kLatentHeat_j_kg - 3.5 * kGasConstantVapour * gas_k);
  }

  [[nodiscard]] double meter_density() const {
    return dry_density_kg_m3(
        {context_.bench.meter_reference_pressure_pa, context_.bench.meter_reference_temperature_k});
  }

  [[nodiscard]] double inlet_k() const {
    return m_.room_k + context_.model.thermal.inlet_gas_head_share * m_.head_above_room_k;
  }

  // Total mass that the unit pushes into the receiver.
  [[nodiscard]] double inflow_kg_s(double gauge) const {
    const AirState inlet{m_.barometer_abs_pa, m_.room_k, m_.relative_humidity};
    const double flow = flow_at(gauge);
    const double w = humidity_ratio(inlet);
    const double dry =
        flow / ((kGasConstantDryAir + w * kGasConstantVapour) * m_.room_k / m_.barometer_abs_pa);
    return dry * (1 + w);
  }

  // Solved anew only when the pressure has moved.
  [[nodiscard]] const TypeState& type(double gauge) const {
    if (gauge != type_gauge_) {
      type_ = *solve_type_model(context_.model.nominal,
                                {m_.supply_voltage_v, gauge, m_.barometer_abs_pa});
      type_gauge_ = gauge;
    }
    return type_;
  }
  [[nodiscard]] double flow_at(double gauge) const {
    const double r = 1 + gauge / m_.barometer_abs_pa;
    const double n = context_.model.nominal.polytropic_exponent;
    const double on = truth_.speed_factor * type(gauge).speed_rev_s *
                          (truth_.a_m3 - truth_.b_m3 * (std::pow(r, 1 / n) - 1)) -
                      truth_.leak_m3_s * (r * r - 1);
    return on * (1 + truth_.beside_rel * bump(gauge));
  }

  void back_leak() {
    begin("back_leak", StepKind::back_leak, 600000);
    for (int i = 0; i < 1000; ++i) {  // let down through the vent
      run_gas(gauge_ - 200, false);
      tick(false);
    }
    trace_.steps.back().ready_us = time_us_;
    double gas = (m_.barometer_abs_pa + gauge_) * receiver().volume_m3 / elasticity();
    for (int i = 0; i < 12000; ++i) {
      const double pressure = m_.barometer_abs_pa + gauge_;
      const double out = truth_.back_leak_m3_s_pa2 *
                         (pressure * pressure - m_.barometer_abs_pa * m_.barometer_abs_pa) *
                         100000 / (kGasConstantDryAir * 293.15);
      const double heat = conductance_w_k(receiver(), pressure) * (gas - m_.room_k);
      double energy = elasticity() * gas / 0.4 - out * 3.5 * gas_now() * gas * kStep_s;
      let_out(out * kStep_s);
      energy += condense_j(gas) - heat * kStep_s;
      gas = 0.4 * energy / elasticity();
      gauge_ = elasticity() * gas / receiver().volume_m3 - m_.barometer_abs_pa;
      tick(false);
    }
    trace_.steps.back().end_us = time_us_;
  }

  void seal_leak() {
    begin("seal_leak", StepKind::seal_leak, 20000).ready_us = time_us_ + 1000000;
    const double volume = context_.bench.seal_volume_m3;
    double warm_k = 0.5;  // what the fill left
    seal_ = 20000;
    for (int i = 0; i < 13000; ++i) {
      const double pressure = m_.barometer_abs_pa + seal_;
      const double leak = truth_.seal_leak_m3_s_pa2 *
                          (pressure * pressure - m_.barometer_abs_pa * m_.barometer_abs_pa);
      if (i >= 1000) {
        const double cooling = warm_k / 2.3 * kStep_s;
        warm_k -= cooling;
        seal_ -=
            leak * 100000 / volume * m_.room_k / 293.15 * kStep_s + pressure / m_.room_k * cooling;
      }
      gauge_ = std::max(0.0, gauge_ - 200);
      tick(false);
    }
    trace_.steps.back().end_us = time_us_;
    seal_ = 0;
  }

  void tick(bool motor) {
    if (ticks_++ % kEvery == 0) record(motor);
    time_us_ += 1000;
  }

  void record(bool motor) {
    const TypeState nominal = motor ? type(gauge_) : TypeState{};
    const Moment now{{"p", gauge_ + m_.pressure_offset_pa},
                     {"baro", m_.barometer_abs_pa},
                     {"flow", metered_},
                     {"volt", motor ? m_.supply_voltage_v : 0},
                     {"amp", truth_.current_factor * nominal.supply_current_a},
                     {"speed", truth_.speed_factor * nominal.speed_rev_s},
                     {"head", m_.room_k + m_.head_above_room_k},
                     {"case", m_.room_k},
                     {"room", m_.room_k},
                     {"rh", m_.relative_humidity},
                     {"seal", seal_}};
    for (std::size_t i = 0; i < trace_.channels.size(); ++i)
      write(i, now.at(trace_.channels[i].id));
  }

  void write(std::size_t i, double value) {
    RawChannel& channel = trace_.channels[i];
    channel.time_us.push_back(time_us_);
    channel.quality.push_back(Quality::good);
    channel.raw.push_back(std::bit_cast<std::int64_t>(value));
  }

  const Truth truth_;
  const Manners m_;
  const Context& context_;
  const double humidity_ = humidity_ratio({m_.barometer_abs_pa, m_.room_k, m_.relative_humidity});
  const double gas_ = mixture_gas_constant(humidity_);
  RawTrace trace_;
  std::int64_t time_us_ = 5'000'000;
  int ticks_ = 0;
  double gauge_ = 0;
  double seal_ = 0;
  double metered_ = 0;
  double dry_kg_ = 0;  // in the receiver
  double vapour_kg_ = 0;
  double water_kg_ = 0;
  mutable double type_gauge_ = -1;
  mutable TypeState type_;
};

}  // namespace

Context context(const Manners& manners) {
  Context c;
  c.bench.id = "north";
  c.bench.channels = channels(manners);
  c.bench.receivers = {{"small", "constants north@1", 0.3e-3, 0.005, 0.5, 0.5, 0.15}};
  c.bench.receivers.front().evaporation_s = manners.evaporation_s;
  c.bench.seal_volume_m3 = 0.4e-3;
  c.bench.u_seal_volume_rel = 0.01;
  c.model.id = "P1-60-12";
  c.model.nominal = nominal();
  c.model.reference.warm_head_temperature_k = 333.15;
  c.model.reference.warm_case_temperature_k = 293.15;
  c.model.metrics = {"fad_0",
                     "fad_200",
                     "fad_400",
                     "fad_600",
                     "fad_800",
                     "current_600",
                     "speed_600",
                     "volumetric_efficiency_400",
                     "specific_energy_400",
                     "dead_head",
                     "back_leak",
                     "seal_leak"};
  return c;
}

RawTrace trace(const Truth& truth, const Manners& manners, const Context& context) {
  return Maker(truth, manners, context).run();
}

RawTrace through_instruments(const RawTrace& exact, const Context& counting, std::uint64_t seed) {
  RawTrace seen = exact;
  std::mt19937_64 random(seed);
  std::normal_distribution<double> gauss;
  for (std::size_t c = 0; c < seen.channels.size(); ++c) {
    const ChannelFacts& facts = counting.bench.channels[c];
    RawChannel& channel = seen.channels[c];
    channel.kind = RawKind::count;
    const double phi = std::exp(-kStep_s * kEvery / facts.noise_correlation_s);
    double noise = facts.noise_sigma_si * gauss(random);
    for (std::int64_t& raw : channel.raw) {
      const double value = std::bit_cast<double>(raw) + noise;
      raw = std::llround((value - facts.offset_si) / facts.scale);
      noise = phi * noise + std::sqrt(1 - phi * phi) * facts.noise_sigma_si * gauss(random);
    }
  }
  return seen;
}

double speed_rev_s(const Truth& truth, const Context& context, double gauge_pa) {
  return truth.speed_factor * solve_type_model(context.model.nominal,
                                               {context.model.reference.supply_voltage_v, gauge_pa,
                                                context.model.reference.inlet_pressure_abs_pa})
                                  ->speed_rev_s;
}

double flow_m3_s(const Truth& truth, const Context& context, double gauge_pa) {
  const double r = 1 + gauge_pa / context.model.reference.inlet_pressure_abs_pa;
  const double n = context.model.nominal.polytropic_exponent;
  const double on =
      speed_rev_s(truth, context, gauge_pa) * (truth.a_m3 - truth.b_m3 * (std::pow(r, 1 / n) - 1)) -
      truth.leak_m3_s * (r * r - 1);
  return on * (1 + truth.beside_rel * bump(gauge_pa));
}

ChannelFacts& channel(Context& context, Role role) {
  for (ChannelFacts& facts : context.bench.channels)
    if (facts.role == role) return facts;
  throw std::logic_error("no such role");
}

RawChannel& channel(RawTrace& trace, const std::string& id) {
  for (RawChannel& one : trace.channels)
    if (one.id == id) return one;
  throw std::logic_error("no such channel");
}

}  // namespace endgate::analysis::made

#include "analysis/bench_check.h"

#include <cmath>

#include "analysis/refused.h"

namespace endgate::analysis {
namespace {

bool above_zero(double value) { return std::isfinite(value) && value > 0; }

// u of V in VOLUME: the derivatives by the three pressures.
double u_of_volume(const Expansion& x, double volume_m3) {
  const double rise = x.final_abs_pa - x.receiver_abs_pa;
  const double fall = x.reference_abs_pa - x.final_abs_pa;
  const double by_reference = x.reference_volume_m3 / rise;
  const double by_receiver = volume_m3 / rise;
  const double by_final = x.reference_volume_m3 / rise * (1 + fall / rise);
  const double by_pressure =
      x.u_pressure_pa * std::hypot(by_reference, std::hypot(by_receiver, by_final));
  return std::hypot(by_pressure, x.u_reference_rel * volume_m3);
}

}  // namespace

CheckResult held_against(double measured, double u_measured, double expected, double u_expected) {
  CheckResult result{.measured = measured,
                     .u_measured = u_measured,
                     .expected = expected,
                     .u_expected = u_expected};
  result.allowed = kCheckFactor * std::hypot(u_measured, u_expected);
  result.in_control = result.allowed > 0 && std::abs(measured - expected) <= result.allowed;
  return result;
}

Outcome<CheckResult> check_meter(const NozzleReading& nozzle, const MeterReading& meter) {
  if (!above_zero(meter.flow.si())) return out_of_domain("the meter's flow is not above 0");
  const Outcome<NozzleFlow> flow = nozzle_flow(nozzle);
  if (!flow) return flow.error();
  const double expected = read_of(MoistMass(flow->mass_kg_s), meter.reference).si();
  return held_against(meter.flow.si(), meter.u_flow_rel * meter.flow.si(), expected,
                      flow->u_rel * expected);
}

Outcome<CheckResult> check_leak(const LeakDwell& dwell, const StatedLeak& stated,
                                const DryReference& reference) {
  if (!above_zero(dwell.seconds)) return out_of_domain("the time of the dwell is not above 0");
  if (!above_zero(dwell.volume_m3)) return out_of_domain("the volume is not above 0");
  if (!above_zero(dwell.start_abs_pa) || !above_zero(dwell.end_abs_pa))
    return out_of_domain("a pressure of the dwell is not above 0");
  if (!above_zero(dwell.start_k) || !above_zero(dwell.end_k))
    return out_of_domain("a temperature of the dwell is not above 0");
  const double per_pa = dwell.volume_m3 / reference.pressure_abs_pa * reference.temperature_k /
                        dwell.end_k / dwell.seconds;
  const double lost_pa = dwell.start_abs_pa * dwell.end_k / dwell.start_k - dwell.end_abs_pa;
  const double u_lost_pa =
      std::hypot(dwell.u_pressure_pa, dwell.start_abs_pa / dwell.start_k * dwell.u_temperature_k);
  const double leak = per_pa * lost_pa;
  return held_against(leak, std::hypot(per_pa * u_lost_pa, dwell.u_volume_rel * leak),
                      stated.leak_m3_s, stated.u_m3_s);
}

Outcome<CheckResult> check_volume(const Expansion& x, const StatedVolume& stated) {
  if (!above_zero(x.reference_volume_m3))
    return out_of_domain("the reference volume is not above 0");
  if (!above_zero(x.receiver_abs_pa))
    return out_of_domain("the receiver's pressure is not above 0");
  if (!(x.final_abs_pa > x.receiver_abs_pa) || !(x.reference_abs_pa > x.final_abs_pa))
    return out_of_domain("the final pressure does not lie between the two before");
  const double volume = x.reference_volume_m3 * (x.reference_abs_pa - x.final_abs_pa) /
                        (x.final_abs_pa - x.receiver_abs_pa);
  return held_against(volume, u_of_volume(x, volume), stated.volume_m3,
                      stated.u_rel * stated.volume_m3);
}

}  // namespace endgate::analysis

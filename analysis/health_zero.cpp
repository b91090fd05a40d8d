#include "analysis/health_zero.h"

#include <cmath>
#include <string>

#include "analysis/grade_words.h"
#include "analysis/say_number.h"

namespace endgate::analysis {
namespace {

constexpr double kSoon_s = 1;
constexpr double kFalling = 0.3;     // of the shift in that time
constexpr double kVentLook_s = 0.4;  // at the end of the step
constexpr double kShutOff_v = 2;     // less at the terminals: the supply is shut off
constexpr double kZeroLook_s = 1;    // the zero step is longer

bool zero_at_rest(Role role) {
  return role == Role::discharge_pressure || role == Role::flow || role == Role::supply_voltage ||
         role == Role::supply_current || role == Role::speed;
}

std::optional<Moments> at_end(const Samples& samples, const StepMark* step, std::int64_t origin,
                              double length_s) {
  if (step == nullptr) return std::nullopt;
  const double end = seconds_from(origin, step->end_us);
  const Window window{end - length_s, end};
  if (inside(samples.column.time_s, window).count() < 8) return std::nullopt;
  return moments_in(samples.column, window, stated_noise(samples), 0);
}

double allowance(const Samples& samples, double u) {
  return samples.facts->calibration.u_offset_si + kZero * u + samples.facts->noise_sigma_si / 2 +
         samples.resolution_si;
}

// Whether it is on its way to zero and would soon be there.
bool still_falls(const Moments& after, double shift) {
  const double towards_zero_s = after.slope_s * (shift > 0 ? -1 : 1);
  return towards_zero_s * kSoon_s > kFalling * std::abs(shift);
}

// In the unit people read beside it on the page.
std::string off_words(const char* format, double off_si, double allowed_si, Role role) {
  const SaidUnit unit = words_of_role(role).unit;
  return said(format, unit.factor * off_si, unit.factor * allowed_si) + kNoBreakSpace +
         std::string(unit.name) + " is allowed";
}

}  // namespace

MaybeAccusation off_zero(Role role, const Samples& samples, const RawTrace& trace,
                         double receiver_m3) {
  if (!zero_at_rest(role)) return std::nullopt;
  const std::int64_t origin = origin_us(trace);
  const StepMark* zero = complete_step(trace, StepKind::zero);
  const std::optional<Moments> before = at_end(samples, zero, origin, kZeroLook_s);
  if (!before) return std::nullopt;
  if (role == Role::supply_voltage && std::abs(before->mean) > kShutOff_v) return std::nullopt;
  const double gas_si = role == Role::flow ? kWarmingGas_s * receiver_m3 : 0;
  const double allowed = gas_si + allowance(samples, before->u_mean);
  if (!samples.zeroed && std::abs(before->mean) > allowed)
    return Accusation{
        role, HealthState::zero_shift,
        off_words("reads %.4g at rest before the start where %.2g", before->mean, allowed, role),
        seconds_from(origin, zero->end_us)};
  const StepMark* vent = complete_step(trace, StepKind::vent);
  const std::optional<Moments> after = at_end(samples, vent, origin, kVentLook_s);
  if (!after) return std::nullopt;
  const double shift = after->mean - before->mean;
  const double room = gas_si + allowance(samples, std::hypot(after->u_mean, before->u_mean));
  if (std::abs(shift) <= room || still_falls(*after, shift)) return std::nullopt;
  return Accusation{
      role, HealthState::zero_shift,
      off_words("its zero moved by %.4g during the test where %.2g", shift, room, role),
      seconds_from(origin, vent->end_us)};
}

}  // namespace endgate::analysis

#include "analysis/health_ripple.h"

#include <cmath>
#include <optional>

namespace endgate::analysis {
namespace {

// Tacho over ripple, and whether they are the same; absent where one of them cannot be known.
struct Compared {
  double ratio = 1;
  bool agrees = true;
};

std::optional<Compared> compared(const Survey& survey, const HoldWindow& hold) {
  if (!hold.window || !hold.ripple || !hold.ripple->sure()) return std::nullopt;
  const Moments& tacho = hold.moments[index_of(Role::speed)];
  if (tacho.count == 0) return std::nullopt;
  const WithU ripple = hold.ripple->speed_rev_s;
  const ChannelCalibration& known = survey.samples[index_of(Role::speed)].facts->calibration;
  const double clock = survey.context->bench.current_waveform->u_clock_rel;
  const double shared = std::hypot(known.u_gain_rel, clock) * ripple.value;
  const double u = std::hypot(std::hypot(ripple.u, tacho.u_mean), known.u_offset_si, shared);
  return Compared{tacho.mean / ripple.value, std::abs(tacho.mean - ripple.value) <= kAgreement * u};
}

}  // namespace

std::vector<Accusation> tacho_contradicts_ripple(const Survey& survey, const RawTrace&) {
  const bool has_tacho = survey.samples[index_of(Role::speed)].facts != nullptr;
  if (!has_tacho || !survey.usable(Role::speed)) return {};
  int disagree = 0;
  std::optional<Accusation> accusation;
  for (const HoldWindow& hold : survey.holds) {
    const std::optional<Compared> found = compared(survey, hold);
    if (!found) continue;
    if (found->agrees) return {};
    ++disagree;
    if (!accusation)
      accusation = Accusation{
          Role::speed, HealthState::implausible,
          said("it reads %.4f times the speed that the motor's current shows; if every unit of the "
               "model does, its commutations_per_rev is wrong",
               found->ratio),
          hold.window->start_s};
  }
  if (disagree < kLeastDisagree) return {};
  return {*accusation};
}

}  // namespace endgate::analysis

#include "analysis/health_together.h"

#include <algorithm>
#include <cmath>

#include "analysis/health_dull.h"
#include "analysis/health_jump.h"
#include "analysis/health_motor.h"
#include "analysis/health_noise.h"
#include "analysis/health_ripple.h"
#include "analysis/health_timing.h"
#include "analysis/health_warming.h"
#include "analysis/health_zero.h"
#include "analysis/odd_samples.h"

namespace endgate::analysis {
namespace {

MaybeAccusation spiky(Role role, const Samples& samples) {
  const std::size_t odd = samples.odd_time_s.size();
  const std::size_t all = odd + samples.column.value.size();
  const double share =
      static_cast<double>(odd) / static_cast<double>(std::max<std::size_t>(1, all));
  if (odd <= kOddCount || share <= kOddShare) return std::nullopt;
  return Accusation{role, HealthState::spiky,
                    said("%.0f odd samples, the first at %.1f s", static_cast<double>(odd),
                         samples.odd_time_s.front()),
                    samples.odd_time_s.front()};
}

// The first finding of one channel by itself.
MaybeAccusation alone(Role role, const Samples& samples, const RawTrace& trace,
                      double receiver_m3) {
  if (auto found = spiky(role, samples)) return found;
  if (auto found = dull(role, samples, trace)) return found;
  if (auto found = off_zero(role, samples, trace, receiver_m3)) return found;
  if (auto found = noisy(role, samples, trace, kOfOneJump)) return found;
  if (auto found = bursting(role, samples, trace)) return found;
  if (auto found = leaped(role, samples, trace)) return found;
  if (auto found = jumped(role, samples)) return found;
  return noisy(role, samples, trace, 0);  // a jump too early or too short to be called one
}

// The largest in use.
double receiver_m3(const Survey& survey) {
  double volume = 0;
  const auto& receivers = survey.context->bench.receivers;
  for (const std::uint8_t used : survey.gas.receiver)
    if (used < receivers.size()) volume = std::max(volume, receivers[used].volume_m3);
  return volume;
}

std::vector<Accusation> all_of(const Survey& survey, const RawTrace& trace) {
  const double volume = receiver_m3(survey);
  std::vector<Accusation> all;
  for (const RoleFacts& facts : kRoles) {
    const Samples& samples = survey.samples[index_of(facts.role)];
    if (!survey.usable(facts.role) || samples.facts == nullptr) continue;
    if (auto found = alone(facts.role, samples, trace, volume)) all.push_back(std::move(*found));
  }
  for (const auto check :
       {out_of_warming_order, out_of_time, motor_contradictions, tacho_contradicts_ripple}) {
    std::vector<Accusation> beside = check(survey, trace);
    std::move(beside.begin(), beside.end(), std::back_inserter(all));
  }
  return all;
}

}  // namespace

bool find_sick_together(const Survey& survey, const RawTrace& trace,
                        std::vector<ChannelHealth>& health) {
  bool any = false;
  for (Accusation& accusation : all_of(survey, trace)) {
    const std::string& id = survey.samples[index_of(accusation.role)].facts->id;
    const auto entry = std::find_if(health.begin(), health.end(),
                                    [&](const ChannelHealth& one) { return one.channel_id == id; });
    if (entry == health.end() || entry->state != HealthState::good) continue;
    entry->state = accusation.state;
    entry->detail = std::move(accusation.detail);
    entry->time_us = bench_time_us(survey, accusation.time_s);
    any = true;
  }
  return any;
}

}  // namespace endgate::analysis

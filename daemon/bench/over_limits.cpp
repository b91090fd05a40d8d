#include "daemon/bench/over_limits.h"

#include "daemon/bench/channel_table.h"

namespace endgate::daemon {
namespace {

std::optional<analysis::ChannelFacts> facts_of(const BenchDefinition& bench, analysis::Role role) {
  for (const ChannelDefinition& channel : bench.channels)
    if (channel.facts.role == role) return channel.facts;
  return std::nullopt;
}

bool crossed(double value, double limit, bool upper) {
  return upper ? value > limit : value < limit;
}

}  // namespace

OverLimits::OverLimits(const BenchDefinition& bench, const ModelDefinition& model) {
  const auto watch = [&](const OverLimit& limit) {
    const auto channel = facts_of(bench, limit.role);
    if (!channel) return;
    const auto confirming =
        limit.confirm_role ? facts_of(bench, *limit.confirm_role) : std::nullopt;
    watched_.push_back({limit, *channel, confirming, std::nullopt});
  };
  for (const OverLimit& limit : bench.over_limits) watch(limit);
  for (const OverLimit& limit : model.over_limits) watch(limit);
}

std::optional<analysis::Trip> OverLimits::on_frame(const Frame& frame, bool running) {
  for (Watched& watched : watched_) {
    const std::optional<bool> beyond = is_beyond(watched, frame, running);
    if (!beyond) continue;
    if (!*beyond) {
      watched.beyond_since_us.reset();
      continue;
    }
    if (!watched.beyond_since_us) watched.beyond_since_us = frame.bench_time_us;
    const auto for_us = static_cast<double>(frame.bench_time_us - *watched.beyond_since_us);
    if (for_us / 1e6 >= watched.limit.for_s) return trip_of(watched, frame);
  }
  return std::nullopt;
}

std::optional<bool> OverLimits::is_beyond(const Watched& watched, const Frame& frame,
                                          bool running) {
  if (watched.limit.only_while_running && !running) return false;
  const auto value = frame.value(watched.limit.role);
  if (!value) return std::nullopt;
  return crossed(*value, watched.limit.limit_si, watched.limit.upper);
}

bool OverLimits::is_confirmed(const Watched& watched, const Frame& frame) {
  if (!watched.confirming) return false;
  const auto value = frame.value(watched.limit.role);
  const auto second = frame.value(watched.confirming->role);
  return value && in_range(watched.channel, *value) && second &&
         in_range(*watched.confirming, *second) &&
         crossed(*second, watched.limit.confirm_limit_si, watched.limit.confirm_upper);
}

analysis::Trip OverLimits::trip_of(const Watched& watched, const Frame& frame) {
  analysis::Trip trip;
  trip.limit_id = watched.limit.id;
  trip.channel_id = watched.channel.id;
  trip.accuses = watched.limit.accuses;
  trip.limit_si = watched.limit.limit_si;
  trip.value_si = *frame.value(watched.limit.role);
  trip.upper = watched.limit.upper;
  trip.time_us = frame.bench_time_us;
  trip.confirmed = is_confirmed(watched, frame);
  if (trip.confirmed) trip.confirmed_by = watched.confirming->id;
  return trip;
}

}  // namespace endgate::daemon

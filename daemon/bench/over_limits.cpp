#include "daemon/bench/over_limits.h"

#include <algorithm>
#include <utility>

#include "daemon/bench/channel_table.h"

namespace endgate::daemon {
namespace {

std::optional<std::size_t> index_of(const BenchDefinition& bench, analysis::Role role) {
  for (std::size_t i = 0; i < bench.channels.size(); ++i)
    if (bench.channels[i].facts.role == role) return i;
  return std::nullopt;
}

bool crossed(double value, double limit, bool upper) {
  return upper ? value > limit : value < limit;
}

bool counts(const OverLimit& limit, const OverLimits::When& when) {
  if (limit.only_while_running && !when.running) return false;
  return limit.steps.empty() || std::ranges::any_of(limit.steps, [&](const std::string& id) {
           return id == when.step || id == when.beside;
         });
}

bool always_counts(const OverLimit& limit) {
  return !limit.only_while_running && limit.steps.empty();
}

std::size_t place_of(analysis::Role role) { return static_cast<std::size_t>(role); }

bool agrees(const OverLimit& limit, const analysis::ChannelFacts& second,
            const std::optional<double>& value) {
  return value && in_range(second, *value) &&
         crossed(*value, limit.confirm_limit_si, limit.confirm_upper);
}

}  // namespace

OverLimits::OverLimits(const BenchDefinition& bench, const ModelDefinition& model) {
  const auto watch = [&](const OverLimit& limit) {
    const auto channel = index_of(bench, limit.role);
    if (!channel) return;
    Watched watched{limit, *channel, bench.channels[*channel].facts, std::nullopt};
    watched.streams = bench.channels[*channel].source.column.has_value();
    if (limit.confirm_role) watched.confirming_index = index_of(bench, *limit.confirm_role);
    if (watched.confirming_index)
      watched.confirming = bench.channels[*watched.confirming_index].facts;
    watched_.push_back(std::move(watched));
  };
  for (const OverLimit& limit : bench.over_limits) watch(limit);
  for (const OverLimit& limit : model.over_limits) watch(limit);
}

std::optional<analysis::Trip> OverLimits::on_values(std::span<const ReceivedValue> values,
                                                    const When& when) {
  note_which_count(when);
  note(values);
  for (Watched& watched : watched_)
    for (const ReceivedValue& each : values) {
      if (each.channel != watched.index) continue;
      watched.judged = true;
      watched.newest_us = each.time_us;
      if (watched.is_from_before(each.time_us)) continue;
      const auto value =
          each.value_si ? std::optional(Value{*each.value_si, each.time_us}) : std::nullopt;
      if (const auto trip = judge(watched, value, when)) return trip;
    }
  return std::nullopt;
}

std::optional<analysis::Trip> OverLimits::on_frame(const Frame& frame, const When& when) {
  note_which_count(when);
  newest_ = frame.value_si;
  for (Watched& watched : watched_) {
    if (std::exchange(watched.judged, false)) continue;
    if (watched.streams && watched.newest_us && watched.is_from_before(*watched.newest_us))
      continue;
    const auto value_si = frame.value(watched.limit.role);
    const auto value =
        value_si ? std::optional(Value{*value_si, frame.bench_time_us}) : std::nullopt;
    if (const auto trip = judge(watched, value, when)) return trip;
  }
  return std::nullopt;
}

std::optional<analysis::Trip> OverLimits::judge(Watched& watched, const std::optional<Value>& value,
                                                const When& when) const {
  const bool counted = counts(watched.limit, when);
  if (counted && !value) return std::nullopt;
  if (!counted || !crossed(value->value_si, watched.limit.limit_si, watched.limit.upper)) {
    watched.beyond_since_us.reset();
    return std::nullopt;
  }
  if (!watched.beyond_since_us) watched.beyond_since_us = value->time_us;
  const auto for_us = static_cast<double>(value->time_us - *watched.beyond_since_us);
  if (for_us / 1e6 < watched.limit.for_s) return std::nullopt;
  return trip_of(watched, *value);
}

void OverLimits::note_which_count(const When& when) {
  for (Watched& watched : watched_) {
    if (!counts(watched.limit, when))
      watched.counts_from_us.reset();
    else if (!watched.counts_from_us)
      watched.counts_from_us = when.since_us;
  }
}

bool OverLimits::Watched::is_from_before(std::int64_t time_us) const {
  return !always_counts(limit) && counts_from_us && time_us < *counts_from_us;
}

// The witness may stand behind the accuser in the same answer.
void OverLimits::note(std::span<const ReceivedValue> values) {
  for (const Watched& watched : watched_)
    for (const ReceivedValue& each : values) {
      if (each.channel == watched.index) newest_[place_of(watched.channel.role)] = each.value_si;
      if (each.channel == watched.confirming_index)
        newest_[place_of(watched.confirming->role)] = each.value_si;
    }
}

analysis::Trip OverLimits::trip_of(const Watched& watched, const Value& value) const {
  analysis::Trip trip;
  trip.limit_id = watched.limit.id;
  trip.channel_id = watched.channel.id;
  trip.accuses = watched.limit.accuses;
  trip.limit_si = watched.limit.limit_si;
  trip.value_si = value.value_si;
  trip.upper = watched.limit.upper;
  trip.time_us = value.time_us;
  trip.confirmed =
      watched.confirming && in_range(watched.channel, value.value_si) &&
      agrees(watched.limit, *watched.confirming, newest_[place_of(watched.confirming->role)]);
  if (trip.confirmed) trip.confirmed_by = watched.confirming->id;
  return trip;
}

std::optional<std::string> OverLimits::witness(const analysis::Trip& trip,
                                               const Frame& frame) const {
  for (const Watched& watched : watched_) {
    if (watched.limit.id != trip.limit_id || watched.channel.id != trip.channel_id) continue;
    if (!watched.confirming || !in_range(watched.channel, trip.value_si)) continue;
    if (agrees(watched.limit, *watched.confirming, frame.value(watched.confirming->role)))
      return watched.confirming->id;
  }
  return std::nullopt;
}

}  // namespace endgate::daemon

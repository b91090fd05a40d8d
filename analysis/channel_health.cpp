#include "analysis/channel_health.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>

#include "analysis/calibration.h"
#include "analysis/motor_runs.h"

namespace endgate::analysis {
namespace {

constexpr int kSpike = 2;  // changes that one odd sample makes

struct Finding {
  HealthState state = HealthState::good;
  std::string detail;
  std::int64_t time_us = 0;
};
using MaybeFinding = std::optional<Finding>;

// What the checks look at: the channel, its facts, and one step.
struct View {
  const ChannelFacts& facts;
  const RawChannel& channel;
  const StepMark& step;
  std::int64_t origin_us = 0;
  std::size_t first = 0;  // samples of the step
  std::size_t last = 0;

  [[nodiscard]] bool good(std::size_t i) const { return channel.quality[i] == Quality::good; }
  [[nodiscard]] double seconds(std::int64_t time_us) const {
    return seconds_from(origin_us, time_us);
  }
  [[nodiscard]] double nominal(std::size_t i) const {
    return facts.scale * number_of(channel.kind, channel.raw[i]) + facts.offset_si;
  }
  [[nodiscard]] bool after_ready(std::size_t i) const {
    return !step.ready_us || channel.time_us[i] >= *step.ready_us;
  }
};

std::string text(const char* format, double first, double second) {
  char buffer[160];
  std::snprintf(buffer, sizeof buffer, format, first, second);
  return buffer;
}

MaybeFinding absence(const RawChannel* channel) {
  if (channel == nullptr) return Finding{HealthState::missing, "not in the trace", 0};
  if (channel->time_us.empty()) return Finding{HealthState::missing, "no sample at all", 0};
  if (channel->time_us.size() != channel->raw.size() ||
      channel->time_us.size() != channel->quality.size())
    return Finding{HealthState::missing, "columns of different length", 0};
  return std::nullopt;
}

MaybeFinding sick_time(const RawChannel& channel, std::int64_t origin) {
  const auto& time = channel.time_us;
  const auto bad = std::adjacent_find(time.begin(), time.end(), std::greater_equal<>());
  if (bad == time.end()) return std::nullopt;
  const double at = seconds_from(origin, *bad);
  return Finding{HealthState::time_sick, text("time stands still or steps back at %.2f s", at, 0),
                 *bad};
}

// The longest time without a good sample, and whether the device said that it has none.
struct Gap {
  double length_s = 0;
  std::int64_t start_us = 0;
  bool no_value = false;
};

Gap longest_gap(const View& view) {
  Gap worst;
  Gap now{0, view.step.start_us, false};
  const auto close_at = [&](std::int64_t time_us) {
    now.length_s = view.seconds(time_us) - view.seconds(now.start_us);
    if (now.length_s > worst.length_s) worst = now;
    now = Gap{0, time_us, false};
  };
  for (std::size_t i = view.first; i < view.last; ++i) {
    now.no_value = now.no_value || view.channel.quality[i] == Quality::no_value;
    if (view.good(i)) close_at(view.channel.time_us[i]);
  }
  close_at(view.step.end_us);
  return worst;
}

MaybeFinding silence(const View& view) {
  const Gap gap = longest_gap(view);
  // One period of grace: a sample just before the step and one just after it are no silence.
  if (gap.length_s <= view.facts.silent_after_s + view.facts.period_s) return std::nullopt;
  const double from = view.seconds(gap.start_us);
  if (gap.no_value)
    return Finding{HealthState::no_value,
                   text("no value for %.2f s from %.2f s", gap.length_s, from), gap.start_us};
  return Finding{HealthState::silent, text("silent for %.2f s from %.2f s", gap.length_s, from),
                 gap.start_us};
}

MaybeFinding beyond_range(const View& view) {
  if (!(view.facts.range_max_si > view.facts.range_min_si)) return std::nullopt;
  int in_a_row = 0;
  for (std::size_t i = view.first; i < view.last; ++i) {
    if (!view.good(i) || !view.after_ready(i)) continue;
    const double value = view.nominal(i);
    const bool within = value >= view.facts.range_min_si && value <= view.facts.range_max_si;
    in_a_row = within ? 0 : in_a_row + 1;
    if (in_a_row < kBeyondRangeInARow) continue;
    const std::int64_t time = view.channel.time_us[i];
    return Finding{HealthState::out_of_range,
                   text("out of range (%.6g) at %.2f s", value, view.seconds(time)), time};
  }
  return std::nullopt;
}

bool leaps(const View& view, std::size_t before, std::size_t now) {
  const double gap =
      view.seconds(view.channel.time_us[now]) - view.seconds(view.channel.time_us[before]);
  return std::abs(view.nominal(now) - view.nominal(before)) > *view.facts.max_rate_si_s * gap;
}

MaybeFinding leaping(const View& view) {
  if (!view.facts.max_rate_si_s) return std::nullopt;
  std::optional<std::size_t> before;
  int count = 0;
  for (std::size_t i = view.first; i < view.last; ++i) {
    if (!view.good(i) || !view.after_ready(i)) continue;
    if (before && leaps(view, *before, i)) ++count;
    before = i;
    if (count <= kSpike) continue;
    const std::int64_t time = view.channel.time_us[i];
    return Finding{HealthState::too_fast,
                   text("changes faster than %.6g per second at %.2f s", *view.facts.max_rate_si_s,
                        view.seconds(time)),
                   time};
  }
  return std::nullopt;
}

MaybeFinding standing_still(const View& view) {
  if (!view.facts.stuck_after_s || view.step.kind != StepKind::hold) return std::nullopt;
  std::optional<std::size_t> since;
  for (std::size_t i = view.first; i < view.last; ++i) {
    if (!view.good(i)) continue;
    if (!since || view.channel.raw[i] != view.channel.raw[*since]) since = i;
    const std::int64_t from = view.channel.time_us[*since];
    const double length = view.seconds(view.channel.time_us[i]) - view.seconds(from);
    if (length <= *view.facts.stuck_after_s) continue;
    return Finding{HealthState::stuck,
                   text("the same value for %.2f s from %.2f s", length, view.seconds(from)), from};
  }
  return std::nullopt;
}

View view_of(const ChannelFacts& facts, const RawChannel& channel, const StepMark& step,
             std::int64_t origin) {
  const auto& time = channel.time_us;
  const auto first = std::lower_bound(time.begin(), time.end(), step.start_us);
  const auto last = std::upper_bound(first, time.end(), step.end_us);
  return View{facts,
              channel,
              step,
              origin,
              static_cast<std::size_t>(first - time.begin()),
              static_cast<std::size_t>(last - time.begin())};
}

MaybeFinding first_finding(const ChannelFacts& facts, const RawTrace& trace) {
  const RawChannel* channel = find_channel(trace, facts.id);
  if (MaybeFinding finding = absence(channel)) return finding;
  const std::int64_t origin = origin_us(trace);
  if (MaybeFinding finding = sick_time(*channel, origin)) return finding;
  for (const auto check : {silence, beyond_range, leaping, standing_still})
    for (const StepMark& step : trace.steps) {
      if (step.end != StepEnd::complete || !matters_in(facts.role, step.kind)) continue;
      if (MaybeFinding finding = check(view_of(facts, *channel, step, origin))) return finding;
    }
  return std::nullopt;
}

}  // namespace

bool matters_in(Role role, StepKind kind) {
  // A pump-up is metered by nobody.
  const bool measures = kind == StepKind::hold || rises(kind);
  switch (role) {
    case Role::discharge_pressure:
    case Role::barometric_pressure:
    case Role::ambient_temperature:
    case Role::relative_humidity:
      return measures || kind == StepKind::zero || kind == StepKind::back_leak;
    case Role::flow:
      return measures && kind != StepKind::pump_up;
    case Role::supply_voltage:
    case Role::supply_current:
    case Role::speed:
    case Role::head_temperature:
      return measures;
    case Role::case_temperature:
      return measures || kind == StepKind::seal_leak;
    case Role::seal_pressure:
      return kind == StepKind::zero || kind == StepKind::seal_leak;
  }
  return false;
}

ChannelHealth health_of(const ChannelFacts& facts, const RawTrace& trace) {
  ChannelHealth health{facts.id, HealthState::good, "", std::nullopt};
  const MaybeFinding finding = first_finding(facts, trace);
  if (!finding) return health;
  health.state = finding->state;
  health.detail = finding->detail;
  if (finding->state != HealthState::missing) health.time_us = finding->time_us;
  return health;
}

std::vector<ChannelHealth> judge_channels(const RawTrace& trace, const BenchFacts& bench) {
  std::vector<ChannelHealth> health;
  health.reserve(bench.channels.size());
  for (const ChannelFacts& facts : bench.channels) health.push_back(health_of(facts, trace));
  return health;
}

}  // namespace endgate::analysis

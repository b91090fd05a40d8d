#include "analysis/waveform_bursts.h"

#include <algorithm>
#include <span>

#include "analysis/calibration.h"

namespace endgate::analysis {
namespace {

constexpr double kGap = 1.5;         // distances between samples
constexpr std::size_t kFewest = 64;  // of a burst

struct Range {
  std::size_t first = 0, last = 0;
  [[nodiscard]] std::size_t count() const { return last - first; }
};

Range inside_step(const RawChannel& channel, const StepMark& step) {
  const auto& time = channel.time_us;
  const auto first = std::lower_bound(time.begin(), time.end(), step.start_us);
  const auto last = std::upper_bound(first, time.end(), step.end_us);
  return {static_cast<std::size_t>(first - time.begin()),
          static_cast<std::size_t>(last - time.begin())};
}

double usual_distance_us(const RawChannel& channel, const Range& range) {
  std::vector<std::int64_t> distances;
  for (std::size_t i = range.first + 1; i < range.last; ++i)
    distances.push_back(channel.time_us[i] - channel.time_us[i - 1]);
  const auto middle = distances.begin() + static_cast<std::ptrdiff_t>(distances.size() / 2);
  std::nth_element(distances.begin(), middle, distances.end());
  return static_cast<double>(*middle);
}

std::vector<Range> contiguous(const RawChannel& channel, const Range& all) {
  std::vector<Range> parts;
  if (all.count() < kFewest) return parts;
  const double largest = kGap * usual_distance_us(channel, all);
  Range part{all.first, all.first};
  for (std::size_t i = all.first; i < all.last; ++i) {
    const bool apart = i > part.first &&
                       static_cast<double>(channel.time_us[i] - channel.time_us[i - 1]) > largest;
    if (apart) {
      parts.push_back({part.first, i});
      part.first = i;
    }
  }
  parts.push_back({part.first, all.last});
  return parts;
}

// Empty: nothing.
std::string fault_of(const RawChannel& channel, const WaveformFacts& facts, const Range& part,
                     const std::vector<double>& current_a) {
  for (std::size_t i = part.first; i < part.last; ++i)
    if (channel.quality[i] != Quality::good) return "a sample of the waveform has no value";
  for (const double value : current_a)
    if (!(value > facts.range_min_si && value < facts.range_max_si))
      return "the waveform reaches the end of its range";
  return "";
}

std::vector<double> current_of(const RawChannel& channel, const WaveformFacts& facts,
                               const Range& part) {
  std::vector<double> current_a;
  current_a.reserve(part.count());
  for (std::size_t i = part.first; i < part.last; ++i)
    current_a.push_back(facts.scale * number_of(channel.kind, channel.raw[i]) + facts.offset_si);
  return current_a;
}

bool has_whole_columns(const RawChannel& channel) {
  return channel.raw.size() == channel.time_us.size() &&
         channel.quality.size() == channel.time_us.size() &&
         std::is_sorted(channel.time_us.begin(), channel.time_us.end(), std::less_equal<>());
}

}  // namespace

WaveformBursts waveform_bursts(const RawTrace& trace, const WaveformFacts& facts,
                               const StepMark& step) {
  WaveformBursts found;
  found.why_none = "no waveform of the current was recorded in it";
  const RawChannel* channel = find_channel(trace, facts.id);
  if (channel == nullptr) return found;
  if (!has_whole_columns(*channel)) {
    found.why_none = "the waveform of the current is out of order";
    return found;
  }
  for (const Range& part : contiguous(*channel, inside_step(*channel, step))) {
    if (part.count() < kFewest) continue;
    WaveformBurst burst{0, current_of(*channel, facts, part)};
    if (std::string fault = fault_of(*channel, facts, part, burst.current_a); !fault.empty()) {
      found.why_none = std::move(fault);
      continue;
    }
    const auto span_us =
        static_cast<double>(channel->time_us[part.last - 1] - channel->time_us[part.first]);
    burst.rate_hz = static_cast<double>(part.count() - 1) * 1e6 / span_us;
    found.bursts.push_back(std::move(burst));
  }
  return found;
}

}  // namespace endgate::analysis

#include "daemon/bench/channel_table.h"

#include <algorithm>
#include <bit>
#include <cmath>

namespace endgate::daemon {

ChannelTable::ChannelTable(const BenchDefinition& bench,
                           const std::vector<analysis::ChannelCalibration>& calibrations) {
  for (std::size_t i = 0; i < bench.channels.size(); ++i) {
    const ChannelDefinition& channel = bench.channels[i];
    Entry entry{channel.facts, channel.source, device_index(bench, channel.source.device),
                channel.decimals};
    if (i < calibrations.size()) entry.facts.calibration = calibrations[i];
    auto& first = by_role_[static_cast<std::size_t>(channel.facts.role)];
    if (!first) first = i;
    entries_.push_back(std::move(entry));
  }
}

analysis::RawKind ChannelTable::kind(std::size_t channel) const {
  return entries_[channel].source.type == RegisterType::f32 ? analysis::RawKind::float32
                                                            : analysis::RawKind::count;
}

Reading ChannelTable::read(std::size_t channel, const RegisterImage& image) const {
  const Entry& entry = entries_[channel];
  const auto raw = image.raw(entry.device, entry.source);
  if (!raw) return {channel, 0, analysis::Quality::no_value};
  const auto& codes = entry.source.no_value;
  const bool none = std::find(codes.begin(), codes.end(), *raw) != codes.end() ||
                    !std::isfinite(number_of(entry, *raw));
  return {channel, *raw, none ? analysis::Quality::no_value : analysis::Quality::good};
}

double ChannelTable::value_si(const Reading& reading) const {
  const Entry& entry = entries_[reading.channel];
  const double nominal = entry.facts.scale * number_of(entry, reading.raw) + entry.facts.offset_si;
  return entry.facts.calibration.gain * nominal + entry.facts.calibration.offset_si;
}

double ChannelTable::number_of(const Entry& entry, std::int64_t raw) {
  if (entry.source.type != RegisterType::f32) return static_cast<double>(raw);
  return static_cast<double>(std::bit_cast<float>(static_cast<std::uint32_t>(raw)));
}

}  // namespace endgate::daemon

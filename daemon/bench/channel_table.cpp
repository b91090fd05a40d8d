#include "daemon/bench/channel_table.h"

#include <algorithm>
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

namespace {

bool is_none(const RegisterSource& source, std::int64_t raw) {
  if (std::ranges::find(source.no_value, raw) != source.no_value.end()) return true;
  const double number = number_of(source.type, raw);
  return !std::isfinite(number) || number < source.fault_below_raw.value_or(number) ||
         number > source.fault_above_raw.value_or(number);
}

}  // namespace

analysis::RawKind ChannelTable::kind(std::size_t channel) const {
  const RegisterSource& source = entries_[channel].source;
  if (source.conversion != Conversion::as_is || source.type == RegisterType::f64)
    return analysis::RawKind::float64;
  return source.type == RegisterType::f32 ? analysis::RawKind::float32 : analysis::RawKind::count;
}

Reading ChannelTable::read(std::size_t channel, const RegisterImage& image) const {
  const Entry& entry = entries_[channel];
  const auto raw = image.raw(entry.device, entry.source);
  if (!raw) return {channel, 0, analysis::Quality::no_value};
  return read(channel, *raw);
}

Reading ChannelTable::read(std::size_t channel, std::int64_t raw) const {
  const bool none = is_none(entries_[channel].source, raw);
  return {channel, raw, none ? analysis::Quality::no_value : analysis::Quality::good};
}

double ChannelTable::value_si(const Reading& reading) const {
  const Entry& entry = entries_[reading.channel];
  const bool converted = entry.source.conversion != Conversion::as_is;
  const double number = number_of(converted ? RegisterType::f64 : entry.source.type, reading.raw);
  const double nominal = entry.facts.scale * number + entry.facts.offset_si;
  return entry.facts.calibration.gain * nominal + entry.facts.calibration.offset_si;
}

}  // namespace endgate::daemon

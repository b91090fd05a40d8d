#include <array>
#include <set>

#include "daemon/definitions/bench_parts.h"
#include "daemon/definitions/read_over_limit.h"
#include "daemon/definitions/unique_ids.h"

namespace endgate::daemon {
namespace {

constexpr std::array<NamedValue<Conversion>, 3> kConversions{
    {{"as_is", Conversion::as_is},
     {"rate_of_count", Conversion::rate_of_count},
     {"inverse_of_period", Conversion::inverse_of_period}}};

bool is_count(const RegisterSource& source) {
  return source.type == RegisterType::u16 || source.type == RegisterType::u32;
}

void read_conversion(TomlReader& reader, RegisterSource& source) {
  source.conversion = reader.word_or<Conversion>("convert", source.conversion, kConversions);
  if (source.conversion == Conversion::as_is) return;
  if (source.conversion == Conversion::rate_of_count) {
    source.rate_over_s = reader.number_or("rate_over_s", source.rate_over_s, kAboveZero);
    if (!is_count(source) || source.column)
      reader.complain("convert", "a register of type \"u16\" or \"u32\", which wraps, to count");
  } else {
    source.standstill = reader.integers_or_none("standstill");
  }
}

// 4 to 20 mA by two points.  Outside 3.6 to 21 mA the wire or the sensor is at fault (NAMUR NE 43,
// from memory).
void read_current_loop(TomlReader& reader, ChannelDefinition& channel) {
  const double raw_low = reader.number("raw_at_4ma");
  const double raw_high = reader.number("raw_at_20ma");
  const double si_low = reader.number("si_at_4ma");
  const double si_high = reader.number("si_at_20ma");
  if (raw_high <= raw_low || si_high == si_low)
    return reader.complain("raw_at_20ma", "two different points, raw_at_4ma the smaller");
  analysis::ChannelFacts& facts = channel.facts;
  facts.scale = (si_high - si_low) / (raw_high - raw_low);
  facts.offset_si = si_low - facts.scale * raw_low;
  const double raw_per_ma = (raw_high - raw_low) / 16;
  const double below_ma = reader.number_or("fault_below_ma", 3.6, {.min = 0, .max = 4});
  const double above_ma = reader.number_or("fault_above_ma", 21, {.min = 20, .max = 25});
  channel.source.fault_below_raw = raw_low + (below_ma - 4) * raw_per_ma;
  channel.source.fault_above_raw = raw_high + (above_ma - 20) * raw_per_ma;
}

void read_slope(TomlReader& reader, ChannelDefinition& channel) {
  const auto read = [&](TomlReader& part) { read_current_loop(part, channel); };
  if (reader.section("current_loop", read) > 0) {
    for (const char* key : {"scale_si", "offset_si"})
      if (reader.has(key)) reader.complain(key, "either current_loop or scale_si and offset_si");
    return;
  }
  channel.facts.scale = reader.number("scale_si");
  if (channel.facts.scale == 0 && reader.sound("scale_si"))
    reader.complain("scale_si", "a number other than 0");
  channel.facts.offset_si = reader.number("offset_si");
}

void read_range(TomlReader& reader, analysis::ChannelFacts& facts) {
  facts.range_min_si = reader.number("range_min_si");
  facts.range_max_si = reader.number("range_max_si");
  if (reader.sound("range_min_si") && reader.sound("range_max_si") &&
      facts.range_max_si <= facts.range_min_si)
    reader.complain("range_max_si", "a number above range_min_si");
}

void read_behaviour(TomlReader& reader, analysis::ChannelFacts& facts) {
  facts.period_s = reader.number("period_s", {.min = 0, .max = 60, .min_excluded = true});
  facts.lag_s = reader.number("lag_s", kNotNegative);
  facts.noise_sigma_si = reader.number("noise_sigma_si", kNotNegative);
  facts.noise_correlation_s = reader.number("noise_correlation_s", kNotNegative);
  facts.max_rate_si_s = reader.maybe_number("max_rate_si_s", kAboveZero);
  facts.stuck_after_s = reader.maybe_number("stuck_after_s", kAboveZero);
  facts.silent_after_s = reader.number_or("silent_after_s", facts.silent_after_s, kAboveZero);
  if (reader.sound("period_s") && facts.silent_after_s <= facts.period_s)
    reader.complain("silent_after_s", "a number above period_s, or every sample is late");
}

ChannelDefinition read_channel(TomlReader& reader, const RegisterScope& scope) {
  ChannelDefinition channel;
  channel.facts.id = reader.text("id");
  channel.facts.role = read_role(reader, "role");
  channel.source = read_register(reader, scope);
  read_conversion(reader, channel.source);
  expect_unit(reader, "unit", channel.facts.role);
  read_slope(reader, channel);
  read_range(reader, channel.facts);
  read_behaviour(reader, channel.facts);
  channel.decimals = static_cast<int>(reader.integer_or("decimals", channel.decimals, 0, 6));
  return channel;
}

}  // namespace

std::vector<ChannelDefinition> read_channels(TomlReader& root, const RegisterScope& scope,
                                             bool tacho_needed) {
  std::vector<ChannelDefinition> channels;
  UniqueIds ids;
  std::set<analysis::Role> roles;
  root.each("channel", [&](TomlReader& reader) {
    channels.push_back(read_channel(reader, scope));
    const analysis::ChannelFacts& facts = channels.back().facts;
    ids.expect_new(reader, "id", facts.id);
    if (reader.sound("role") && !roles.insert(facts.role).second)
      reader.complain("role", "a role used once, found \"" +
                                  std::string(analysis::name_of(facts.role)) + "\" again");
  });
  if (!tacho_needed) roles.insert(analysis::Role::speed);
  for (const analysis::RoleFacts& facts : analysis::kRoles)
    if (!roles.contains(facts.role))
      root.complain("channel", "a [[channel]] with role \"" + std::string(facts.name) + "\"");
  return channels;
}

}  // namespace endgate::daemon

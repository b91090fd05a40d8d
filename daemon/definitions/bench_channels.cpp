#include <set>

#include "daemon/definitions/bench_parts.h"
#include "daemon/definitions/read_over_limit.h"
#include "daemon/definitions/unique_ids.h"

namespace endgate::daemon {
namespace {

void read_scale(TomlReader& reader, analysis::ChannelFacts& facts) {
  expect_unit(reader, "unit", facts.role);
  facts.scale = reader.number("scale_si");
  if (facts.scale == 0 && reader.sound("scale_si"))
    reader.complain("scale_si", "a number other than 0");
  facts.offset_si = reader.number("offset_si");
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
  read_scale(reader, channel.facts);
  read_behaviour(reader, channel.facts);
  channel.decimals = static_cast<int>(reader.integer_or("decimals", channel.decimals, 0, 6));
  return channel;
}

}  // namespace

std::vector<ChannelDefinition> read_channels(TomlReader& root, const RegisterScope& scope) {
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
  for (const analysis::RoleFacts& facts : analysis::kRoles)
    if (!roles.contains(facts.role))
      root.complain("channel", "a [[channel]] with role \"" + std::string(facts.name) + "\"");
  return channels;
}

}  // namespace endgate::daemon

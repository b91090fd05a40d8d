#include "daemon/definitions/read_over_limit.h"

#include <algorithm>
#include <array>

#include "daemon/definitions/unique_ids.h"

namespace endgate::daemon {
namespace {

using analysis::Role;
using analysis::TripAccuses;

constexpr std::array<NamedValue<TripAccuses>, 2> kAccuses{
    {{"bench", TripAccuses::bench}, {"unit", TripAccuses::unit}}};

constexpr auto kRoleWords = [] {
  std::array<NamedValue<Role>, analysis::kRoleCount> words{};
  for (std::size_t i = 0; i < words.size(); ++i)
    words[i] = {analysis::kRoles[i].name, analysis::kRoles[i].role};
  return words;
}();

struct Bound {
  double limit_si = 0;
  bool upper = true;
};

// Exactly one of the two keys states the bound.
Bound read_bound(TomlReader& reader, std::string_view above_key, std::string_view below_key) {
  const std::optional<double> above = reader.maybe_number(above_key);
  const std::optional<double> below = reader.maybe_number(below_key);
  if (reader.has(above_key) == reader.has(below_key))
    reader.complain(above_key, "either " + std::string(above_key) + " or " +
                                   std::string(below_key) + ", one of the two");
  if (below) return {*below, false};
  return {above.value_or(0), true};
}

void read_confirmation(TomlReader& reader, OverLimit& limit) {
  limit.confirm_role = read_role(reader, "confirm_role");
  if (reader.sound("confirm_role") && *limit.confirm_role == limit.role)
    reader.complain("confirm_role", "another role than the one that trips");
  expect_unit(reader, "confirm_unit", *limit.confirm_role);
  const Bound bound = read_bound(reader, "confirm_above_si", "confirm_below_si");
  limit.confirm_limit_si = bound.limit_si;
  limit.confirm_upper = bound.upper;
}

void read_steps(TomlReader& reader, const std::vector<std::string>& known, OverLimit& limit) {
  limit.steps = reader.texts("steps");
  for (const std::string& id : limit.steps)
    if (std::ranges::find(known, id) == known.end())
      reader.complain("steps", "ids of steps of the sequence, found \"" + id + "\"");
}

OverLimit read_over_limit(TomlReader& reader, const std::vector<std::string>& steps) {
  OverLimit limit;
  limit.id = reader.text("id");
  limit.role = read_role(reader, "role");
  expect_unit(reader, "unit", limit.role);
  const Bound bound = read_bound(reader, "above_si", "below_si");
  limit.limit_si = bound.limit_si;
  limit.upper = bound.upper;
  limit.for_s = reader.number("for_s", {.min = 0, .max = 60});
  limit.accuses = reader.word<TripAccuses>("accuses", kAccuses);
  limit.only_while_running = reader.flag_or("only_while_running", false);
  if (!steps.empty() && reader.has("steps")) read_steps(reader, steps, limit);
  if (reader.has("confirm_role")) read_confirmation(reader, limit);
  return limit;
}

}  // namespace

Role read_role(TomlReader& reader, std::string_view key) {
  return reader.word<Role>(key, kRoleWords);
}

void expect_unit(TomlReader& reader, std::string_view key, Role role) {
  const std::string si_unit(analysis::kRoles[static_cast<std::size_t>(role)].si_unit);
  const std::string written = reader.text(key);
  const bool role_known = reader.sound("role") || reader.sound("confirm_role");
  if (role_known && !written.empty() && written != si_unit)
    reader.complain(key, "\"" + si_unit + "\", the SI unit of " +
                             std::string(analysis::name_of(role)) + ", found \"" + written + "\"");
}

std::vector<OverLimit> read_over_limits(TomlReader& root, const std::vector<std::string>& steps) {
  std::vector<OverLimit> limits;
  UniqueIds ids;
  root.each("over_limit", [&](TomlReader& reader) {
    limits.push_back(read_over_limit(reader, steps));
    ids.expect_new(reader, "id", limits.back().id);
  });
  return limits;
}

}  // namespace endgate::daemon

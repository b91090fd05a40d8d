// Reference units, due checks and wear parts of a bench file.

#include <array>

#include "daemon/definitions/bench_parts.h"
#include "daemon/definitions/unique_ids.h"

namespace endgate::daemon {
namespace {

constexpr std::array<NamedValue<const char*>, 3> kCheckKinds{
    {{"fixture_leak", "fixture_leak"},
     {"flow_nozzle", "flow_nozzle"},
     {"receiver_volume", "receiver_volume"}}};
constexpr std::int64_t kMostDays = 3660, kMostUses = 1'000'000'000;

}  // namespace

std::vector<ReferenceUnitDefinition> read_reference_units(TomlReader& root) {
  std::vector<ReferenceUnitDefinition> units;
  UniqueIds serials;
  root.each("reference_unit", [&](TomlReader& reader) {
    units.push_back({.serial = reader.text("serial"), .name = reader.text("name")});
    serials.expect_new(reader, "serial", units.back().serial);
  });
  return units;
}

std::vector<DueCheck> read_due_checks(TomlReader& root) {
  std::vector<DueCheck> checks;
  UniqueIds kinds;
  root.each("due_check", [&](TomlReader& reader) {
    const std::string kind = reader.word<const char*>("kind", kCheckKinds);
    checks.push_back(
        {.kind = kind, .every_days = static_cast<int>(reader.integer("every_days", 1, kMostDays))});
    kinds.expect_new(reader, "kind", kind);
  });
  return checks;
}

std::vector<WearPart> read_wear_parts(TomlReader& root) {
  std::vector<WearPart> parts;
  UniqueIds ids;
  root.each("wear_part", [&](TomlReader& reader) {
    parts.push_back(
        {.id = reader.text("id"),
         .name = reader.text("name"),
         .uses_per_test = static_cast<int>(reader.integer_or("uses_per_test", 1, 1, 1000)),
         .due_after_uses = reader.integer("due_after_uses", 1, kMostUses)});
    ids.expect_new(reader, "id", parts.back().id);
  });
  return parts;
}

}  // namespace endgate::daemon

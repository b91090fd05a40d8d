#include "daemon/line/scanned_unit.h"

#include <utility>
#include <vector>

#include "daemon/definitions/serial.h"
#include "daemon/line/upkeep_facts.h"

namespace endgate::daemon {
namespace {

// Of whichever bench; nothing when it is none.
std::optional<std::string> name_as_reference(const Configuration& configuration,
                                             const std::string& serial) {
  for (const auto& [id, bench] : configuration.benches)
    if (const auto* unit = reference_unit_of(bench.value, serial)) return unit->name;
  return std::nullopt;
}

}  // namespace

std::variant<std::shared_ptr<UnitOnBench>, CommandRefusal> scanned_unit(
    const ScanCommand& command, const Configuration& configuration) {
  const std::vector<ModelDefinition> models = configuration.model_list();
  const auto match = match_serial(command.text, models);
  if (const auto* refusal = std::get_if<SerialRefusal>(&match))
    return CommandRefusal{409, refusal->code, refusal->sentence};
  const auto& found = std::get<SerialMatch>(match);
  auto context = configuration.context(command.bench, found.model);
  if (const auto* missing = std::get_if<std::string>(&context))
    return CommandRefusal{409, "B-301", *missing};
  auto unit = std::make_shared<UnitOnBench>();
  unit->serial = found.serial;
  unit->model = configuration.models.at(found.model).value;
  unit->context = std::get<analysis::Context>(std::move(context));
  unit->production_limits = unit->context.limits;
  unit->batch = command.batch;
  unit->operator_name = command.operator_name;
  return unit;
}

void take_purpose(UnitOnBench& unit, const Configuration& configuration) {
  unit.reference_name = name_as_reference(configuration, unit.serial).value_or("");
  unit.purpose = !unit.reference_name.empty() ? "reference"
                 : unit.history.tests.empty() ? "production"
                                              : "retest";
}

}  // namespace endgate::daemon

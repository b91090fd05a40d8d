#include "daemon/line/bench_texts.h"

#include <utility>

#include "daemon/definitions/load.h"

namespace endgate::daemon {
namespace {

CommandRefusal none(const std::string& what, const std::string& bench) {
  return {404, "U-231", "Bench " + bench + " has no accepted " + what + " that can be read here."};
}

}  // namespace

std::variant<BenchTexts, CommandRefusal> bench_texts(const schema::StoreReader& store,
                                                     const std::string& bench) {
  const auto file = store.current_definition("bench", bench);
  const auto calibration = store.current_definition("calibration", bench);
  if (!file) return none("bench file", bench);
  if (!calibration) return none("calibration", bench);
  auto definition = load_bench(file->text, "bench " + bench);
  auto facts = load_calibration(calibration->text, "calibration " + bench);
  if (!std::holds_alternative<BenchDefinition>(definition)) return none("bench file", bench);
  if (!std::holds_alternative<CalibrationFacts>(facts)) return none("calibration", bench);
  return BenchTexts{std::get<BenchDefinition>(std::move(definition)),
                    std::get<CalibrationFacts>(std::move(facts)), calibration->text,
                    calibration->version};
}

bool is_simulated(const schema::StoreReader& store, const std::string& bench) {
  const auto file = store.current_definition("bench", bench);
  if (!file) return false;
  const auto loaded = load_bench(file->text, "bench " + bench);
  const auto* definition = std::get_if<BenchDefinition>(&loaded);
  return definition != nullptr && definition->simulated;
}

}  // namespace endgate::daemon

#include "daemon/line/commit_start.h"

#include "daemon/line/upkeep_facts.h"
#include "daemon/line/wall_clock.h"

namespace endgate::daemon {

CommittedStart commit_start(schema::StoreWriter& store, const StationTools& tools,
                            const UnitOnBench& unit) {
  CommittedStart committed;
  try {
    committed.upkeep = upkeep_due(tools, unit.start.bench);
    const bool stopped = judges_units(unit.purpose) && blocking(committed.upkeep) != nullptr;
    committed.outdated = !say_the_same(unit.history, read_history(tools.store_folder, unit.serial));
    if (!stopped && !committed.outdated) committed.position = store.append(unit.start);
  } catch (const schema::StoreFault& caught) {
    committed.fault = caught.what();
  }
  return committed;
}

std::vector<UpkeepNotice> upkeep_due(const StationTools& tools, const std::string& bench_id) {
  const auto configuration = tools.configuration();
  const auto bench = configuration->benches.find(bench_id);
  if (bench == configuration->benches.end()) return {};
  const auto calibration = configuration->calibrations.find(bench_id);
  const CalibrationFacts* facts =
      calibration == configuration->calibrations.end() ? nullptr : &calibration->second.value;
  const BenchDefinition& definition = bench->second.value;
  const BenchKept kept = due_on_bench(schema::StoreReader(tools.store_folder), bench_id,
                                      check_kinds(definition), part_ids(definition));
  return upkeep_notices(definition, facts, tools.upkeep, kept, wall_clock_now().utc_ms);
}

}  // namespace endgate::daemon

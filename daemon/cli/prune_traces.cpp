// `endgate prune-traces`: samples leave by age, each removal stated first

#include "schema/prune_traces.h"

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/fact_way.h"
#include "daemon/cli/tell_every.h"
#include "daemon/line/enter_removal.h"
#include "daemon/line/wall_clock.h"
#include "daemon/queries/retention.h"

namespace endgate::daemon {
namespace {

RetentionRule rule_of(const PruneTracesCommand& command) {
  return {.older_than_days = command.older_than_days, .warranty_months = command.warranty_months};
}

Retention retention_asked(const PruneTracesCommand& command, const std::filesystem::path& folder) {
  const schema::StoreReader store(folder);
  return retention_of(store, rule_of(command), wall_clock_now().utc_ms, [](std::int64_t seen) {
    if (seen % kTellEvery == 0) std::cerr << seen << " tests looked at\n";
  });
}

void tell(const Retention& sorted) {
  std::cout << "samples to remove: " << sorted.go.size() << " tests\n"
            << "kept, younger: " << sorted.too_young << "\n"
            << "kept, birth tests under warranty: " << sorted.under_warranty << "\n"
            << "kept, tests of reference units, returned units, lab and trials: "
            << sorted.of_other_purpose << "\n"
            << "old enough, but in the file that tests are written to: " << sorted.in_newest_file
            << "\n"
            << "removed before: " << sorted.gone_before << "\n";
}

std::string records_from(const Retention& sorted, std::size_t first) {
  std::string text;
  const std::size_t end = std::min(sorted.go.size(), first + kRemovalsAtOnce);
  for (std::size_t i = first; i < end; ++i)
    text += (text.empty() ? "" : " ") + std::to_string(sorted.go[i]);
  return text;
}

// kOk, or the exit status of what was refused; what was stated by then stays stated.
int state(FactWay& way, const PruneTracesCommand& command, const Retention& sorted) {
  for (std::size_t first = 0; first < sorted.go.size(); first += kRemovalsAtOnce) {
    const EntryFields fields{{"records", records_from(sorted, first)},
                             {"policy", policy_words(rule_of(command), command.why)},
                             {"by", command.by}};
    const auto stated =
        way.enter([&](schema::StoreWriter& writer) { return enter_removal(writer, fields); },
                  "/api/v1/facts/trace_removal", fields);
    if (std::holds_alternative<CommandRefusal>(stated)) return tell(stated);
  }
  return kOk;
}

int take(const std::filesystem::path& folder) {
  const schema::PrunedTraces taken = schema::take_stated_traces(
      folder, [](const std::string& file) { std::cerr << file << " gives its space back\n"; });
  std::cout << "removed: " << taken.traces << " traces, " << taken.bytes << " bytes\n";
  if (taken.waiting > 0)
    std::cout << "stated, and to go once a new trace file has begun: " << taken.waiting << "\n";
  return kOk;
}

}  // namespace

int run_command(const PruneTracesCommand& command) {
  if (command.dry_run) {
    tell(retention_asked(command, store_folder(command.store)));
    std::cout << "nothing was removed\n";
    return kOk;
  }
  FactWay way(command.store);
  const Retention sorted = retention_asked(command, way.folder());
  tell(sorted);
  const int stated = state(way, command, sorted);
  return stated == kOk ? take(way.folder()) : stated;
}

}  // namespace endgate::daemon

// Is the start of a test on the disk, and may it run?
//
// The start fact is durable before the relay is commanded (three syncs in the life of a test).
// Runs on the record thread, so behind whatever the test before says about the bench.

#pragma once

#include <string>
#include <vector>

#include "daemon/line/station_tools.h"
#include "daemon/line/station_unit.h"
#include "daemon/line/upkeep_policy.h"

namespace endgate::daemon {

struct CommittedStart {
  schema::Position position = 0;
  std::string fault;                 // of the store
  std::vector<UpkeepNotice> upkeep;  // what is due on the bench now; one that blocks: nothing kept
  bool outdated = false;  // the unit was tested or entered elsewhere since its scan: nothing kept
};

// A scan may be days old: what has become due since refuses the start like what was due then, and
// so does a unit that was tested on another bench or decided on.
[[nodiscard]] CommittedStart commit_start(schema::StoreWriter& store, const StationTools& tools,
                                          const UnitOnBench& unit);

// What is due on a bench by the configuration in force.  Reads the store; throws StoreFault.
[[nodiscard]] std::vector<UpkeepNotice> upkeep_due(const StationTools& tools,
                                                   const std::string& bench);

}  // namespace endgate::daemon

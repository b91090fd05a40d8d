// `endgate limits --model MODEL`

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/text_table.h"
#include "daemon/line/limit_history.h"
#include "daemon/line/say_time.h"

namespace endgate::daemon {

int run_command(const LimitsCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  const std::vector<LimitChange> changes = limit_history(store, command.model);
  if (changes.empty()) {
    std::cerr << "No limits of " << command.model << " were accepted here.\n";
    return kNegative;
  }
  std::vector<TextRow> rows{
      {"version", "accepted (UTC)", "by (claimed)", "why", "metric", "limit"}};
  for (const LimitChange& change : changes)
    rows.push_back({std::to_string(change.version), say_utc_minute(change.at_utc_ms),
                    change.by + (change.second_by.empty() ? "" : ", " + change.second_by),
                    change.why, change.metric, words_of(change)});
  write_table(rows, std::cout);
  return kOk;
}

}  // namespace endgate::daemon

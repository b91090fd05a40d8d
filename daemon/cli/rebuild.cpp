// `endgate rebuild`

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "schema/owner_lock.h"
#include "schema/trend_file.h"

namespace endgate::daemon {

// A running service keeps the file itself; the lock sees to it that there is one writer.
int run_command(const RebuildCommand& command) {
  constexpr std::size_t kRecordsAtOnce = 4096;
  const std::filesystem::path folder = store_folder(command.store);
  const schema::StoreReader truth(folder);
  const schema::OwnerLock lock(folder);
  schema::delete_trend_file(folder);
  schema::TrendWriter derived(folder);
  schema::TrendWriter::Progress progress;
  do {
    progress = derived.catch_up(truth, kRecordsAtOnce);
    std::cerr << progress.position << " of " << progress.last_position << " facts\n";
  } while (!progress.done());
  std::cout << (folder / schema::kTrendFileName).string() << ": made anew\n";
  return kOk;
}

}  // namespace endgate::daemon

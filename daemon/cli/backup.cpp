// `endgate backup`, `endgate restore`

#include "schema/backup.h"

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/tell_step.h"

namespace endgate::daemon {
int run_command(const BackupCommand& command) {
  const schema::VerifyResult kept =
      schema::back_up(store_folder(command.store), command.target, TellStep());
  std::cout << command.target.string() << ": " << kept.facts << " facts and " << kept.traces
            << " traces, opened and verified\n";
  return kOk;
}

int run_command(const RestoreCommand& command) {
  const std::string id = schema::restore(command.backup, store_folder(command.store), TellStep());
  std::cout << "restored and verified; the store has the new id " << id << "\n";
  return kOk;
}

}  // namespace endgate::daemon

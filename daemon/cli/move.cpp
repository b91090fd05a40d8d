// `endgate move FOLDER`: the store to another folder or disk, for good.

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/tell_step.h"
#include "schema/move_store.h"

namespace endgate::daemon {

int run_command(const MoveCommand& command) {
  const std::filesystem::path from = store_folder(command.store);
  const schema::VerifyResult kept = schema::move_store(from, command.target, TellStep());
  const std::string to = std::filesystem::weakly_canonical(command.target).string();
  const std::string service = command.store.config.empty()
                                  ? "service.toml"
                                  : (command.store.config / "service.toml").string();
  std::cout << to << ": " << kept.facts << " facts and " << kept.traces
            << " traces, opened and verified\n"
            << "now write into " << service << ":\n"
            << "data_directory = \"" << to << "\"\n"
            << "An installed service must be allowed to write there: ReadWritePaths=" << to
            << " in its unit.\n"
            << from.string()
            << " stays as it was and takes nothing more; remove it when the service "
            << "runs from the new folder and a backup was made.\n";
  return kOk;
}

}  // namespace endgate::daemon

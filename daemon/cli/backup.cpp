// `endgate backup`, `endgate restore`

#include "schema/backup.h"

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/tell_every.h"

namespace endgate::daemon {
namespace {

// A line for each tenth of what is being done.
class TellStep {
 public:
  void operator()(const schema::BackupStep& step) {
    if (step.of == 0) {
      if (step.done % kTellEvery == 0) std::cerr << step.doing << ": " << step.done << "\n";
      return;
    }
    const std::int64_t tenth = 10 * step.done / step.of;
    if (step.doing == doing_ && tenth == tenth_) return;
    doing_ = step.doing;
    tenth_ = tenth;
    std::cerr << step.doing << ": " << step.done << " of " << step.of << "\n";
  }

 private:
  std::string doing_;
  std::int64_t tenth_ = 0;
};

}  // namespace

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

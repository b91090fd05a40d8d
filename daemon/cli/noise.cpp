// `endgate noise BENCH`: what its channels' noise is, learned from kept tests.

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/queries/noise_told.h"

namespace endgate::daemon {

int run_command(const NoiseCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  const NoiseTold told = noise_told(store, command.bench, command.tests);
  std::ostream& out = told.tests == 0 ? std::cerr : std::cout;
  for (const std::string& line : words_of(told)) out << line << "\n";
  if (!told.known) return kUsage;
  return told.tests == 0 || contradicted(told) ? kNegative : kOk;
}

}  // namespace endgate::daemon

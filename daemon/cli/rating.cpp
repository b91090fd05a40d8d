// `endgate rating --model MODEL`

#include <iostream>

#include "daemon/cli/asked_tests.h"
#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/queries/rating_told.h"

namespace endgate::daemon {

int run_command(const RatingCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  const auto filter = filter_asked(store, command.asked);
  if (!filter) return kUsage;
  const auto coverage = read_coverage(command.coverage);
  if (!coverage) {
    std::cerr << kWrongCoverage << "\n";
    return kUsage;
  }
  const RatingTold told = rating_of(store, *filter, *coverage);
  for (const std::string& line : words_of(told)) std::cout << line << "\n";
  return told.points.empty() ? kNegative : kOk;
}

}  // namespace endgate::daemon

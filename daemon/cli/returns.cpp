// `endgate returns --model MODEL`

#include <iostream>

#include "daemon/cli/asked_tests.h"
#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/queries/cause_agreement.h"
#include "daemon/queries/returns_words.h"

namespace endgate::daemon {

int run_command(const ReturnsCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  const auto filter = filter_asked(store, command.asked);
  if (!filter) return kUsage;
  for (const std::string& line : words_of(returns_of(store, *filter))) std::cout << line << "\n";
  std::cout << "Likely cause and finding, repairs of every " << filter->model << ":\n";
  for (const std::string& line : words_of(cause_agreement_of(store, filter->model)))
    std::cout << line << "\n";
  return kOk;
}

}  // namespace endgate::daemon

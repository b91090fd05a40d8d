// `endgate export --csv`

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/queries/export_csv.h"

namespace endgate::daemon {

int run_command(const ExportCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  const std::int64_t rows =
      export_csv(store, command.si ? CsvUnits::si : CsvUnits::as_shown, std::cout);
  std::cerr << rows << " tests\n";
  return kOk;
}

}  // namespace endgate::daemon

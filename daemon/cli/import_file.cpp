// `endgate import FILE`: checked here first, so that every fault is told with its line; then kept.

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/fact_way.h"
#include "daemon/cli/table_file.h"
#include "daemon/line/enter_import.h"

namespace endgate::daemon {
namespace {

EntryFields fields_of(const ImportCommand& command) {
  return {{"text", text_of_table(command.file)},
          {"form", table_form_of(command.file, command.form)},
          {"source", command.source},
          {"by", command.by},
          {"why", command.why},
          {"left_out", command.left_out},
          {"good_rows", command.good_rows ? "yes" : "no"}};
}

int only_check(const ImportCommand& command, const ImportRead& read) {
  const std::filesystem::path folder = store_folder(command.store);
  if (std::filesystem::exists(folder / "records.db"))
    if (const auto refusal = imported_before(schema::StoreReader(folder), read)) {
      std::cerr << refusal->sentence << "\n";
      return kNegative;
    }
  std::cout << read.tests.size() << " results could be imported. Nothing was kept.\n";
  return read.faults.empty() ? kOk : kNegative;
}

}  // namespace

int run_command(const ImportCommand& command) {
  const EntryFields fields = fields_of(command);
  std::vector<TableFault> faults;
  const auto read = read_import(fields, &faults);
  tell_faults(command.file, faults);
  if (const auto* refusal = std::get_if<CommandRefusal>(&read)) {
    std::cerr << (faults.empty() ? refusal->sentence : "Nothing was kept.") << "\n";
    return kNegative;
  }
  const ImportRead& good = std::get<ImportRead>(read);
  if (command.dry_run) return only_check(command, good);
  FactWay way(command.store);
  const int told = tell(way.enter(
      [&](schema::StoreWriter& writer) { return enter_import(writer, way.folder(), good); },
      "/api/v1/import", fields));
  return told == kOk && good.faults.empty() ? kOk : kNegative;
}

}  // namespace endgate::daemon

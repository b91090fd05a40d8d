// `endgate import-lots FILE`: checked here first, so that every fault is told with its line.

#include <iostream>
#include <memory>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/fact_way.h"
#include "daemon/cli/table_file.h"
#include "daemon/line/enter_lots_file.h"

namespace endgate::daemon {
namespace {

EntryFields fields_of(const ImportLotsCommand& command) {
  return {{"text", text_of_table(command.file)},
          {"form", table_form_of(command.file, command.form)},
          {"source", command.source.empty() ? command.file.filename().string() : command.source},
          {"by", command.by}};
}

// Nothing when no store lies there yet.
std::unique_ptr<schema::StoreReader> store_in(const std::filesystem::path& folder) {
  if (!std::filesystem::exists(folder / "records.db")) return nullptr;
  return std::make_unique<schema::StoreReader>(folder);
}

}  // namespace

int run_command(const ImportLotsCommand& command) {
  const EntryFields fields = fields_of(command);
  std::vector<TableFault> faults;
  const auto read = read_lots_file(fields, store_in(store_folder(command.store)).get(), &faults);
  tell_faults(command.file, faults);
  if (const auto* refusal = std::get_if<CommandRefusal>(&read)) {
    std::cerr << (faults.empty() ? refusal->sentence : "Nothing was kept.") << "\n";
    return kNegative;
  }
  const auto& good = std::get<LotsFileRead>(read);
  if (command.dry_run) {
    std::cout << good.parts << " lots of parts could be kept, " << good.known
              << " are known already. Nothing was kept.\n";
    return kOk;
  }
  FactWay way(command.store);
  return tell(way.enter([&](schema::StoreWriter& writer) { return enter_lots_file(writer, good); },
                        "/api/v1/import/lots", fields));
}

}  // namespace endgate::daemon

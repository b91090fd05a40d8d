// `endgate import FILE`: checked here first, so that every fault is told with its line; then kept.

#include <algorithm>
#include <fstream>
#include <iostream>
#include <iterator>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/fact_way.h"
#include "daemon/line/enter_import.h"

namespace endgate::daemon {
namespace {

// One byte more than may be read, which the reader then refuses.
std::string text_of_table(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in || std::filesystem::is_directory(path))
    throw ConfigurationFault(path.string() + ": expected a readable file");
  std::string text(kMostTableBytes + 1, '\0');
  in.read(text.data(), static_cast<std::streamsize>(text.size()));
  text.resize(static_cast<std::size_t>(in.gcount()));
  return text;
}

std::string form_of(const ImportCommand& command) {
  if (!command.form.empty()) return command.form == "csv" ? "csv" : "json_lines";
  const auto form = table_form_of(command.file.string());
  if (!form)
    throw ConfigurationFault(command.file.string() +
                             ": expected a name that ends in .csv or .jsonl; or say --form");
  return *form == TableForm::csv ? "csv" : "json_lines";
}

EntryFields fields_of(const ImportCommand& command) {
  return {{"text", text_of_table(command.file)},
          {"form", form_of(command)},
          {"source", command.source},
          {"by", command.by},
          {"why", command.why},
          {"left_out", command.left_out},
          {"good_rows", command.good_rows ? "yes" : "no"}};
}

void tell_faults(const ImportCommand& command, const std::vector<TableFault>& faults) {
  const std::size_t told = std::min(faults.size(), kMostFaultsTold);
  for (std::size_t i = 0; i < told; ++i)
    std::cerr << say(faults[i], command.file.string() + ":") << "\n";
  if (told < faults.size()) std::cerr << "and " << faults.size() - told << " more\n";
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
  tell_faults(command, faults);
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

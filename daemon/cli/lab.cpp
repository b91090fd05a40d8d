// `endgate compare SERIAL SERIAL ...`, `endgate endurance SERIAL METRIC`

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/text_table.h"
#include "daemon/views/lab_view.h"

namespace endgate::daemon {

int run_command(const CompareCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  const SideBySide told = side_by_side(store, command.units);
  for (const std::string& line : words_of(told)) std::cerr << line << "\n";
  if (told.units.size() < 2) return kNegative;
  const reports::WordTable words = beside_table(told);
  std::vector<TextRow> rows{words.columns};
  rows.insert(rows.end(), words.rows.begin(), words.rows.end());
  write_table(rows, std::cout);
  return told.not_found.empty() ? kOk : kNegative;
}

int run_command(const EnduranceCommand& command) {
  if (analysis::facts_of_metric(command.metric) == nullptr) {
    std::cerr << "There is no metric " << command.metric << ".\n";
    return kUsage;
  }
  const schema::StoreReader store(store_folder(command.store));
  const EnduranceTold told =
      endurance_of(store, command.serial, command.metric, command.over == "days");
  for (const std::string& line : words_of(told))
    (told.model.empty() ? std::cerr : std::cout) << line << "\n";
  return told.path ? kOk : kNegative;
}

}  // namespace endgate::daemon

// `endgate where LOT`

#include <algorithm>
#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/text_table.h"
#include "daemon/queries/where_used.h"

namespace endgate::daemon {

int run_command(const WhereCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  const std::size_t sign = command.lot.find('=');  // "motor=M-118", as it was entered
  const bool named = sign != std::string::npos;
  const std::vector<UnitWithLot> units =
      named ? where_used(store, command.lot.substr(sign + 1), command.lot.substr(0, sign))
            : where_used(store, command.lot);
  if (units.empty()) {
    std::cerr << "No unit is known to hold the lot " << command.lot << ".\n";
    return kNegative;
  }
  std::vector<TextRow> rows{
      {"serial", "part", "batch", "holds it still", "last verdict", "standing"}};
  for (const UnitWithLot& unit : units)
    rows.push_back({unit.serial, unit.part, unit.through, unit.still_held ? "yes" : "no",
                    unit.verdict, unit.standing});
  write_table(rows, std::cout);
  const auto failed = std::ranges::count(units, "fail", &UnitWithLot::verdict);
  const auto no_longer = std::ranges::count(units, false, &UnitWithLot::still_held);
  std::cerr << units.size() << " units";
  if (no_longer > 0) std::cerr << ", " << no_longer << " of them hold another lot now";
  std::cerr << "; " << failed << " failed their last test.\n";
  return kOk;
}

}  // namespace endgate::daemon

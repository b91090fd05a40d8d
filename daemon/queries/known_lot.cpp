#include "daemon/queries/known_lot.h"

#include <algorithm>

#include "daemon/queries/repair_lots.h"
#include "schema/every_entry.h"

namespace endgate::daemon {

bool is_known_lot(const schema::StoreReader& store, const std::string& lot) {
  if (!store.lots_with(lot).empty()) return true;
  const std::size_t sign = lot.find('=');
  if (sign != std::string::npos &&
      !store.lots_with(lot.substr(sign + 1), lot.substr(0, sign)).empty())
    return true;
  const auto names_it = [&](const schema::PartLot& part) {
    return part.lot == lot || part.part + "=" + part.lot == lot;
  };
  return std::ranges::any_of(schema::every_repair(store), [&](const auto& repair) {
    return std::ranges::any_of(lots_in(repair.fact), names_it);
  });
}

}  // namespace endgate::daemon

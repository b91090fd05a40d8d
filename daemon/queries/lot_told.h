// What became of the units that hold or held a lot of parts, and is it worse than usual?

#pragma once

#include <string>
#include <vector>

#include "daemon/queries/where_used.h"
#include "daemon/queries/yield_told.h"

namespace endgate::daemon {

struct LotTold {
  std::string lot{}, part{};              // as asked; no part: of any
  std::vector<UnitWithLot> units{};       // as where_used(); a unit stands once for each part
  std::int64_t count = 0;                 // of units, each once
  std::int64_t no_longer = 0;             // of those, that hold another lot now
  Share passed{}, undecided{}, failed{};  // first tests of units that had it from the start
  Share repaired_passed{};                // first tests behind the repair that built it in
  Share released{}, held{}, rejected{};   // now, of those that hold it still and have a standing
  Share came_back{};                      // of all
  struct Named {
    std::string words{};
    Share units{};
  };
  std::vector<Named> reasons{};       // the deciding one, of those not passed; most frequent first
  std::vector<Named> causes{};        // the likeliest, of those failed; most frequent first
  std::vector<std::string> models{};  // of those first tests, sorted
  Share others_passed{};              // first tests of every other unit of these models
};

[[nodiscard]] LotTold lot_told(const schema::StoreReader& store, const std::string& lot,
                               const std::string& part = "");

// The most important first; of a lot that no unit holds one sentence that says so.
[[nodiscard]] std::vector<std::string> words_of(const LotTold& told);

// "the lot R-1", "the reed lot R-1"
[[nodiscard]] std::string name_of_lot(const LotTold& told);

}  // namespace endgate::daemon

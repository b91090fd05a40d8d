// Which units hold or held this lot?  Forward from a lot, through batches, to every unit and its last test.

#pragma once

#include <string>
#include <vector>

#include "schema/store.h"

namespace endgate::daemon {

struct UnitWithLot {
  std::string serial{};
  std::string part{};           // motor, reed ...
  std::string through{};        // batch by which it has the lot; empty: stated for the unit itself
  schema::Position repair = 0;  // at which it was built in; 0: it was there from the beginning
  // Whether nothing names another lot of that part since, or for the unit itself (lot_book.h).
  bool still_held = true;
  std::string standing{}, verdict{};  // as its newest test says; empty: never tested here
  // Its first test with the lot that is not void; empty: there is none.  Of production or its
  // retests; behind a repair any that counts for a standing.
  struct FirstTest {
    std::string model{}, verdict{};
    std::string reason_code{}, reason_subject{};  // the deciding one
    std::string likely_cause{};                   // in words
  };
  FirstTest first{};
  bool came_back = false;  // at least once
};
// By lots of units and batches, then by repairs that name it (repair_lots.h).
// A lot that nobody entered so is looked for in capitals and in small letters too.
// Of any part when `part` is empty.  In the order in which the facts were entered; a unit that has
// the lot twice stands there once.
[[nodiscard]] std::vector<UnitWithLot> where_used(const schema::StoreReader& store,
                                                  const std::string& lot,
                                                  const std::string& part = "");

}  // namespace endgate::daemon

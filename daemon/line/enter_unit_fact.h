// What people know of a unit, or decided about it, becomes a fact.
//
//   lots       parts and their lots of one unit or of a batch; a number of its own, as in
//              motor_number=..., is a lot of one, by which the unit is found again
//   return     a unit came back: complaint, condition as received, time in use where it is known
//   repair     what was found (an id of the list of causes, or free text) and what was replaced
//   decision   retest       after undecided or void tests, a repair, or three attempts; not after
//                           a fail without repair; it also calls back a scrapped unit
//                           by two different names
//              scrap        the unit is never shipped
//              concession   it is shipped although not released: two different names and a reason
//   withdrawal any of these is taken back (daemon/line/enter_withdrawal.h)
//
// Who says so is claimed, not proven.  Refusals keep nothing; codes U-240 ... U-243.  A serial, a
// batch or a part may well come before its first test: what is not known yet is kept, and the
// answer says so, for it may as well be mistyped.

#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "daemon/line/application.h"
#include "daemon/line/entry.h"
#include "schema/facts.h"

namespace endgate::daemon {

using LotsEntry = std::variant<schema::Lots, CommandRefusal>;
// subject_kind (unit, batch), subject, parts ("motor=M-118 reed=R-2620"), source, by
[[nodiscard]] LotsEntry lots_entry(const EntryFields& fields);

using ReturnEntry = std::variant<schema::ReturnIntake, CommandRefusal>;
// serial, complaint, by; condition, months_in_use, hours_in_use may be empty
[[nodiscard]] ReturnEntry return_entry(const EntryFields& fields);

using RepairEntry = std::variant<schema::Repair, CommandRefusal>;
// serial, finding, by; parts may be empty
[[nodiscard]] RepairEntry repair_entry(const EntryFields& fields);

using DecisionEntry = std::variant<schema::Disposition, CommandRefusal>;
// serial, decision, reason, by; second_by for a concession.  `standing` and `repaired`: of the unit
// as it is now; an unknown unit has no standing.
struct UnitNow {
  std::string standing{};
  bool scrapped = false;
  bool returned_since = false;  // after its last test
  bool repaired_since = false;  // after its last test
};
[[nodiscard]] DecisionEntry decision_entry(const EntryFields& fields, const UnitNow& now);

// Which facts there are to enter: "lots", "return", "repair", "decision", "withdrawal".
[[nodiscard]] bool is_unit_fact(std::string_view kind);

// Keeps one fact of `kind`; runs where the writer is.  Throws StoreFault.
[[nodiscard]] Application::Entered enter_unit_fact(schema::StoreWriter& writer,
                                                   const std::filesystem::path& store_folder,
                                                   std::string_view kind,
                                                   const EntryFields& fields);

}  // namespace endgate::daemon

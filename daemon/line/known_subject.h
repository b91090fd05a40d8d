// What does the store know of the unit, batch or part that a person names?
//
// A person who mistypes a number enters a fact about something that does not exist.  It may also be
// the first word about it, so it is kept; the answer says what is known and what is not.

#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/definitions/serial.h"
#include "schema/facts.h"
#include "schema/store.h"

namespace endgate::daemon {

// " 3 tests of it are kept, the newest of 2026-03-12 09:20 UTC." or that there is none yet.
[[nodiscard]] std::string known_of_unit(const schema::StoreReader& store,
                                        const std::string& serial);

// The serial as it is to be kept: as typed when anything of it is known, else as a serial of an
// accepted model, in upper case.  A refusal when it is neither: nobody finds an entry again that
// was made under a misread serial.  Without an accepted model every serial is taken.
//
// For many serials: reads the models once, when they are first needed.
class SerialsKept {
 public:
  explicit SerialsKept(const schema::StoreReader& store) : store_(store) {}
  [[nodiscard]] std::variant<std::string, SerialRefusal> as_kept(const std::string& typed);

 private:
  const schema::StoreReader& store_;
  std::optional<std::vector<ModelDefinition>> models_;
};
[[nodiscard]] std::variant<std::string, SerialRefusal> serial_to_keep(
    const schema::StoreReader& store, const std::string& typed);

// What else could have been meant by a number of which nothing is kept: " Did you mean
// QH2648-0903-O?", that it is a lot or a batch; empty when nothing is near.
[[nodiscard]] std::string meant_by(const schema::StoreReader& store, const std::string& number);

// The same of a unit or a batch with lots, parts that were never named before, and lots that an
// earlier entry says otherwise of the same part.
[[nodiscard]] std::string known_of(const schema::StoreReader& store, const schema::Lots& lots);

// Not empty: a batch is named as a unit, or a unit as a batch.
[[nodiscard]] std::string mistaken_subject(const schema::StoreReader& store,
                                           const schema::Lots& lots);

}  // namespace endgate::daemon

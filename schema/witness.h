// What does somebody outside keep, so that nobody can write this store's past anew?
//
// A signed head on one line, to be kept by the customer, in a mail, on paper: whoever holds it can
// ask a store of any later day whether it still contains that very past.  Whoever holds the key and
// the whole folder can sign another history, but not one that such a line agrees with.
//
//   endgate-head 1 STORE POSITION HEAD KEY SIGNATURE      hexadecimal but for the position
//
// SIGNATURE is Ed25519 by KEY over 0x02 | STORE | POSITION as u64 | HEAD (schema/README.md), so the
// line alone shows that the key signed it; the store shows that the key was its own there.

#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "schema/seal.h"
#include "schema/store.h"

namespace endgate::schema {

struct WitnessedHead {
  StoreId store{};
  SignedHead signed_head{};
};

// The newest head that the store has signed.  StoreFault::damaged when it has signed none.
[[nodiscard]] WitnessedHead newest_witnessed(const StoreReader& store);

[[nodiscard]] std::string line_of(const WitnessedHead& witnessed);
// Nothing: no such line.  Blanks around it do not count.
[[nodiscard]] std::optional<WitnessedHead> read_witnessed(std::string_view line);

enum class WitnessSays {
  contained,   // the store has this past; a store that was restored from it has it too
  not_signed,  // the signature is not of that key: the line was changed
  shorter,     // the store ends before that position
  other_past,  // another fact, or another history, stands there
};
// Holds for the head alone: that all facts match it is what verify() says.
[[nodiscard]] WitnessSays hold_against(const StoreReader& store, const WitnessedHead& witnessed);

}  // namespace endgate::schema

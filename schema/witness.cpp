#include "schema/witness.h"

#include <algorithm>
#include <charconv>
#include <sstream>

#include "schema/signing_key.h"
#include "schema/sqlite_handle.h"

namespace endgate::schema {
namespace {

constexpr const char* kWord = "endgate-head";
constexpr const char* kLineFormat = "1";

template <std::size_t N>
bool read_hex(const std::string& text, std::array<std::uint8_t, N>& into) {
  if (text.size() != 2 * N) return false;
  for (std::size_t i = 0; i < N; ++i) {
    const char* const from = text.data() + 2 * i;
    const auto read = std::from_chars(from, from + 2, into[i], 16);
    if (read.ec != std::errc() || read.ptr != from + 2) return false;
  }
  return true;
}

bool read_position(const std::string& text, Position& into) {
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, into);
  return read.ec == std::errc() && read.ptr == end && into > 0;
}

bool signature_is_good(const WitnessedHead& witnessed) {
  const SignedHead& head = witnessed.signed_head;
  return is_signed(blob(head.signature), signed_message(witnessed.store, head.position, head.head),
                   blob(head.public_key));
}

}  // namespace

WitnessedHead newest_witnessed(const StoreReader& store) {
  const auto newest = store.signed_head();
  const auto opened = newest ? store.opened_before(newest->position) : std::nullopt;
  if (!opened)
    throw StoreFault(StoreFault::Kind::damaged,
                     "no head of " + store.folder().string() + " is signed; run `endgate verify`");
  return {opened->store_id, *newest};
}

std::string line_of(const WitnessedHead& witnessed) {
  const SignedHead& head = witnessed.signed_head;
  return std::string(kWord) + " " + kLineFormat + " " + hex_of(witnessed.store) + " " +
         std::to_string(head.position) + " " + hex_of(head.head) + " " + hex_of(head.public_key) +
         " " + hex_of(head.signature);
}

std::optional<WitnessedHead> read_witnessed(std::string_view line) {
  std::istringstream in{std::string(line)};
  std::string word, format, store, position, head, key, signature, more;
  in >> word >> format >> store >> position >> head >> key >> signature;
  if (word != kWord || format != kLineFormat || in >> more) return std::nullopt;
  WitnessedHead read;
  const bool whole =
      read_hex(store, read.store) && read_position(position, read.signed_head.position) &&
      read_hex(head, read.signed_head.head) && read_hex(key, read.signed_head.public_key) &&
      read_hex(signature, read.signed_head.signature);
  return whole ? std::optional(read) : std::nullopt;
}

WitnessSays hold_against(const StoreReader& store, const WitnessedHead& witnessed) {
  start_crypto();
  if (!signature_is_good(witnessed)) return WitnessSays::not_signed;
  const SignedHead& head = witnessed.signed_head;
  if (head.position > store.last_position()) return WitnessSays::shorter;
  const auto opened = store.opened_before(head.position);
  const bool ours = opened && opened->store_id == witnessed.store &&
                    opened->public_key == head.public_key &&
                    store.head_at(head.position) == head.head;
  return ours ? WitnessSays::contained : WitnessSays::other_past;
}

}  // namespace endgate::schema

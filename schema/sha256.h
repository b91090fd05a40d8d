// What is the SHA-256 of these bytes?  A running hash over libsodium, and hexadecimal text.

#pragma once

#include <sodium.h>

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "schema/facts.h"

namespace endgate::schema {

using Bytes = std::vector<std::uint8_t>;

class Sha256 {
 public:
  Sha256();
  Sha256& byte(std::uint8_t value);
  Sha256& u32(std::uint32_t value);  // big-endian
  Sha256& u64(std::uint64_t value);  // big-endian
  Sha256& bytes(std::span<const std::uint8_t> values);
  Sha256& text(std::string_view value);  // without its length
  [[nodiscard]] Hash done();             // once

 private:
  crypto_hash_sha256_state state_;
};

[[nodiscard]] Hash sha256_of(std::string_view text);

// Lower case, two digits a byte.
[[nodiscard]] std::string hex_of(std::span<const std::uint8_t> bytes);

}  // namespace endgate::schema

#include "schema/sha256.h"

namespace endgate::schema {

Sha256::Sha256() { crypto_hash_sha256_init(&state_); }

Sha256& Sha256::byte(std::uint8_t value) { return bytes({&value, 1}); }

Sha256& Sha256::u32(std::uint32_t value) {
  for (int shift = 24; shift >= 0; shift -= 8) byte(static_cast<std::uint8_t>(value >> shift));
  return *this;
}

Sha256& Sha256::u64(std::uint64_t value) {
  std::array<std::uint8_t, 8> big_endian{};
  for (std::size_t i = 0; i < 8; ++i)
    big_endian[i] = static_cast<std::uint8_t>(value >> (56 - 8 * i));
  return bytes(big_endian);
}

Sha256& Sha256::bytes(std::span<const std::uint8_t> values) {
  crypto_hash_sha256_update(&state_, values.data(), values.size());
  return *this;
}

Sha256& Sha256::text(std::string_view value) {
  return bytes({reinterpret_cast<const std::uint8_t*>(value.data()), value.size()});
}

Hash Sha256::done() {
  Hash hash{};
  crypto_hash_sha256_final(&state_, hash.data());
  return hash;
}

Hash sha256_of(std::string_view text) { return Sha256().text(text).done(); }

std::string hex_of(std::span<const std::uint8_t> bytes) {
  constexpr std::string_view digits = "0123456789abcdef";
  std::string text;
  text.reserve(2 * bytes.size());
  for (const std::uint8_t byte : bytes) {
    text += digits[byte >> 4];
    text += digits[byte & 15];
  }
  return text;
}

}  // namespace endgate::schema

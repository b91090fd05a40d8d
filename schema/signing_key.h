// With which key are the heads of this store signed?  Ed25519, `signing.key` in its folder.
//
// The file holds the 64 bytes of the secret key and is readable by its owner alone (0600).  Its
// loss loses no fact: the next opening makes a new key and seals its public half as a fact.

#pragma once

#include <array>
#include <filesystem>
#include <optional>
#include <string_view>

#include "schema/sha256.h"

namespace endgate::schema {

inline constexpr const char* kSigningKeyFile = "signing.key";

// Why a head was signed, as written beside the signature.
inline constexpr std::array<std::string_view, 5> kSignCauses{"opened", "count", "checkpoint",
                                                             "export", "complete"};

using PublicKey = std::array<std::uint8_t, crypto_sign_PUBLICKEYBYTES>;
using Signature = std::array<std::uint8_t, crypto_sign_BYTES>;

class SigningKey {
 public:
  // Durable when it returns.  StoreFault::io.
  static SigningKey create(const std::filesystem::path& folder);
  // Nothing when there is none; StoreFault::refused when others may read it.
  static std::optional<SigningKey> load(const std::filesystem::path& folder);

  [[nodiscard]] const PublicKey& public_key() const { return public_; }
  [[nodiscard]] Signature sign(const Bytes& message) const;

 private:
  using Secret = std::array<std::uint8_t, crypto_sign_SECRETKEYBYTES>;
  explicit SigningKey(const Secret& secret);

  Secret secret_;
  PublicKey public_;
};

[[nodiscard]] bool is_signed(const Bytes& signature, const Bytes& message, const Bytes& public_key);

// Aborts nothing and may be called often; StoreFault::io when libsodium finds no entropy.
void start_crypto();

}  // namespace endgate::schema

#include "schema/signing_key.h"

#include <sys/stat.h>

#include <algorithm>

#include "schema/durable_file.h"
#include "schema/store_fault.h"

namespace endgate::schema {
namespace {

void refuse_when_readable_by_others(const std::filesystem::path& path) {
  struct stat facts {};
  if (::stat(path.c_str(), &facts) == 0 && (facts.st_mode & 077) == 0) return;
  throw StoreFault(StoreFault::Kind::refused,
                   path.string() + " may be read by others; run `chmod 600` on it");
}

}  // namespace

void start_crypto() {
  if (sodium_init() < 0)
    throw StoreFault(StoreFault::Kind::io, "libsodium cannot start: no source of randomness");
}

SigningKey::SigningKey(const Secret& secret) : secret_(secret), public_{} {
  crypto_sign_ed25519_sk_to_pk(public_.data(), secret_.data());
}

SigningKey SigningKey::create(const std::filesystem::path& folder) {
  start_crypto();
  Secret secret{};
  PublicKey ignored{};
  crypto_sign_keypair(ignored.data(), secret.data());
  write_durably(folder / kSigningKeyFile, secret, 0600);
  return SigningKey(secret);
}

std::optional<SigningKey> SigningKey::load(const std::filesystem::path& folder) {
  start_crypto();
  const auto bytes = read_file(folder / kSigningKeyFile);
  if (!bytes) return std::nullopt;
  refuse_when_readable_by_others(folder / kSigningKeyFile);
  Secret secret{};
  if (bytes->size() != secret.size())
    throw StoreFault(StoreFault::Kind::damaged, (folder / kSigningKeyFile).string() +
                                                    " is not a signing key; move it away and the " +
                                                    "store makes a new one");
  std::copy(bytes->begin(), bytes->end(), secret.begin());
  return SigningKey(secret);
}

Signature SigningKey::sign(const Bytes& message) const {
  Signature signature{};
  crypto_sign_detached(signature.data(), nullptr, message.data(), message.size(), secret_.data());
  return signature;
}

bool is_signed(const Bytes& signature, const Bytes& message, const Bytes& public_key) {
  return signature.size() == crypto_sign_BYTES && public_key.size() == crypto_sign_PUBLICKEYBYTES &&
         crypto_sign_verify_detached(signature.data(), message.data(), message.size(),
                                     public_key.data()) == 0;
}

}  // namespace endgate::schema

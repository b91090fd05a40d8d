// How is a fact sealed?  Bytes, leaf and head of one fact.
//
//   leaf   = SHA-256(0x00 | bytes)
//   head_n = SHA-256(0x01 | head_(n-1) | position u64 | leaf),   head_0 = 32 zero bytes
//
// A signature is Ed25519 over  0x02 | store id | position u64 | head.

#pragma once

#include <variant>

#include "schema/sha256.h"

namespace endgate::schema {

// The n-th alternative is FactKind n.
using Fact =
    std::variant<StoreOpened, Definition, TestStart, Record, Repair, BenchEvent, Lots, Disposition,
                 ReturnIntake, Alarm, ImportedTest, TraceRemoved, BenchCheck, Withdrawal>;

[[nodiscard]] FactKind kind_of(const Fact& fact);
[[nodiscard]] Bytes encode(const Fact& fact);  // StoreFault::refused: NaN, not UTF-8
[[nodiscard]] Fact decode_fact(std::span<const std::uint8_t> bytes);  // StoreFault::damaged

[[nodiscard]] Hash leaf_of(std::span<const std::uint8_t> bytes);
[[nodiscard]] Hash head_of(const Hash& previous, Position position, const Hash& leaf);

using StoreId = std::array<std::uint8_t, 16>;
[[nodiscard]] Bytes signed_message(const StoreId& store, Position position, const Hash& head);

}  // namespace endgate::schema

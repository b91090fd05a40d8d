#include "schema/canonical_bytes.h"

#include <bit>
#include <cmath>
#include <limits>

namespace endgate::schema {
namespace {

// Length of the sequence that starts with `first`, 0 when none does; `least` is the smallest code
// point that needs that length (a longer form of a shorter one is not UTF-8).
std::size_t sequence_length(std::uint8_t first, std::uint32_t& code, std::uint32_t& least) {
  if (first < 0x80) return code = first, least = 0, 1;
  if (first >> 5 == 0x06) return code = first & 0x1fU, least = 0x80, 2;
  if (first >> 4 == 0x0e) return code = first & 0x0fU, least = 0x800, 3;
  if (first >> 3 == 0x1e) return code = first & 0x07U, least = 0x10000, 4;
  return 0;
}

bool is_scalar_value(std::uint32_t code) {
  return code <= 0x10ffff && (code < 0xd800 || code > 0xdfff);
}

}  // namespace

bool is_utf8(std::string_view text) {
  for (std::size_t i = 0; i < text.size();) {
    std::uint32_t code = 0;
    std::uint32_t least = 0;
    const std::size_t length = sequence_length(static_cast<std::uint8_t>(text[i]), code, least);
    if (length == 0 || length > text.size() - i) return false;
    for (std::size_t k = 1; k < length; ++k) {
      const auto byte = static_cast<std::uint8_t>(text[i + k]);
      if (byte >> 6 != 2) return false;
      code = code << 6 | (byte & 0x3fU);
    }
    if (code < least || !is_scalar_value(code)) return false;
    i += length;
  }
  return true;
}

void CanonicalWriter::boolean(bool value) {
  tag(Tag::boolean);
  out_.push_back(value ? 1 : 0);
}

void CanonicalWriter::integer(std::int64_t value) {
  tag(Tag::integer);
  big_endian(static_cast<std::uint64_t>(value), 8);
}

void CanonicalWriter::real(double value) {
  if (std::isnan(value))
    throw StoreFault(StoreFault::Kind::refused,
                     "a number to be sealed is NaN; a missing value must be left out");
  tag(Tag::real);
  big_endian(std::bit_cast<std::uint64_t>(value), 8);
}

void CanonicalWriter::text(std::string_view value) {
  if (!is_utf8(value))
    throw StoreFault(StoreFault::Kind::refused, "a text to be sealed is not UTF-8: bytes " +
                                                    hex_of(Bytes(value.begin(), value.end())));
  counted(Tag::text, value.size());
  out_.insert(out_.end(), value.begin(), value.end());
}

void CanonicalWriter::bytes(std::span<const std::uint8_t> value) {
  counted(Tag::bytes, value.size());
  out_.insert(out_.end(), value.begin(), value.end());
}

void CanonicalWriter::counted(Tag value, std::size_t count) {
  if (count > std::numeric_limits<std::uint32_t>::max())
    throw StoreFault(StoreFault::Kind::refused, "a value to be sealed is longer than 4 GiB");
  tag(value);
  big_endian(count, 4);
}

void CanonicalWriter::big_endian(std::uint64_t value, int width) {
  for (int shift = 8 * (width - 1); shift >= 0; shift -= 8)
    out_.push_back(static_cast<std::uint8_t>(value >> shift));
}

bool CanonicalReader::next_is_missing() {
  if (at_ >= bytes_.size() || bytes_[at_] != static_cast<std::uint8_t>(Tag::missing)) return false;
  ++at_;
  return true;
}

bool CanonicalReader::boolean() {
  expect(Tag::boolean);
  const std::uint64_t value = big_endian(1);
  if (value > 1) damaged("a boolean is neither 0 nor 1");
  return value == 1;
}

std::int64_t CanonicalReader::integer() {
  expect(Tag::integer);
  return static_cast<std::int64_t>(big_endian(8));
}

double CanonicalReader::real() {
  expect(Tag::real);
  const auto value = std::bit_cast<double>(big_endian(8));
  if (std::isnan(value)) damaged("a number is NaN");
  return value;
}

std::string CanonicalReader::text() {
  const auto taken = take(counted(Tag::text));
  std::string value(taken.begin(), taken.end());
  if (!is_utf8(value)) damaged("a text is not UTF-8");
  return value;
}

Bytes CanonicalReader::bytes() {
  const auto taken = take(counted(Tag::bytes));
  return {taken.begin(), taken.end()};
}

void CanonicalReader::end() const {
  if (!at_end()) damaged("bytes follow the last field");
}

void CanonicalReader::damaged(const std::string& what) const {
  throw StoreFault(StoreFault::Kind::damaged,
                   "canonical bytes at offset " + std::to_string(at_) + ": " + what);
}

void CanonicalReader::expect(Tag tag) {
  const std::uint64_t found = big_endian(1);
  if (found != static_cast<std::uint64_t>(tag))
    damaged("type byte " + std::to_string(found) + ", expected " +
            std::to_string(static_cast<int>(tag)));
}

// Every element takes at least one byte, so a count beyond the rest is damage, not an allocation.
std::size_t CanonicalReader::counted(Tag tag) {
  expect(tag);
  const auto count = static_cast<std::size_t>(big_endian(4));
  if (count > bytes_.size() - at_) damaged("a length goes beyond the end");
  return count;
}

std::uint64_t CanonicalReader::big_endian(int width) {
  std::uint64_t value = 0;
  for (const std::uint8_t byte : take(static_cast<std::size_t>(width))) value = value << 8 | byte;
  return value;
}

std::span<const std::uint8_t> CanonicalReader::take(std::size_t count) {
  if (count > bytes_.size() - at_) damaged("the bytes end too early");
  const auto taken = bytes_.subspan(at_, count);
  at_ += count;
  return taken;
}

}  // namespace endgate::schema

// Which bytes stand for one value?  The primitive layer of the canonical encoding.
//
// Each value is a type byte and then, big-endian and of fixed width,
//
//   0 missing   nothing
//   1 boolean   one byte, 0 or 1
//   2 integer   8 bytes, two's complement
//   3 real      8 bytes, the bits of an IEEE double; NaN is refused
//   4 text      u32 length, UTF-8
//   5 bytes     u32 length, bytes
//   6 list      u32 count, then the elements
//   7 group     u32 count, then the fields in their order
//
// One value has one encoding, so decode followed by encode gives the same bytes back.
// Writing throws StoreFault::refused (NaN, not UTF-8), reading StoreFault::damaged with the offset.

#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "schema/sha256.h"
#include "schema/store_fault.h"

namespace endgate::schema {

enum class Tag : std::uint8_t {
  missing = 0,
  boolean = 1,
  integer = 2,
  real = 3,
  text = 4,
  bytes = 5,
  list = 6,
  group = 7,
};

class CanonicalWriter {
 public:
  void u16(std::uint16_t value) { big_endian(value, 2); }
  void missing() { tag(Tag::missing); }
  void boolean(bool value);
  void integer(std::int64_t value);
  void real(double value);
  void text(std::string_view value);
  void bytes(std::span<const std::uint8_t> value);
  void list(std::size_t count) { counted(Tag::list, count); }
  void group(std::size_t count) { counted(Tag::group, count); }
  [[nodiscard]] Bytes take() { return std::move(out_); }

 private:
  void tag(Tag value) { out_.push_back(static_cast<std::uint8_t>(value)); }
  void counted(Tag value, std::size_t count);
  void big_endian(std::uint64_t value, int width);

  Bytes out_;
};

class CanonicalReader {
 public:
  explicit CanonicalReader(std::span<const std::uint8_t> bytes) : bytes_(bytes) {}

  [[nodiscard]] std::uint16_t u16() { return static_cast<std::uint16_t>(big_endian(2)); }
  [[nodiscard]] bool next_is_missing();  // takes the type byte when it is
  [[nodiscard]] bool boolean();
  [[nodiscard]] std::int64_t integer();
  [[nodiscard]] double real();
  [[nodiscard]] std::string text();
  [[nodiscard]] Bytes bytes();
  [[nodiscard]] std::size_t list() { return counted(Tag::list); }
  [[nodiscard]] std::size_t group() { return counted(Tag::group); }
  [[nodiscard]] bool at_end() const { return at_ == bytes_.size(); }
  void end() const;

  // StoreFault::damaged that names the offset.
  [[noreturn]] void damaged(const std::string& what) const;

 private:
  void expect(Tag tag);
  std::size_t counted(Tag tag);
  std::uint64_t big_endian(int width);
  std::span<const std::uint8_t> take(std::size_t count);

  std::span<const std::uint8_t> bytes_;
  std::size_t at_ = 0;
};

[[nodiscard]] bool is_utf8(std::string_view text);

}  // namespace endgate::schema

// Which bytes stand for one struct?  One list of fields for each struct, used to write and to read,
// so the two cannot drift apart.
//
//   template <> inline constexpr auto kFields<Repair> = std::tuple{
//       Field{"serial", &Repair::serial}, ...};
//
// The order of the list is the order of the bytes and is frozen with the first record
// (schema/README.md lists it; a test compares).  Whole documents start with format u16 and kind
// u16; nested structs are groups.  An enumeration is an integer below kEnumCount<E>.
//
//   C-1  decode(encode(x)) == x, and encode(decode(bytes)) == bytes
//   C-2  every field of a struct is in its list (tests count them)
//   C-3  bytes that are not the encoding of a value are refused as damaged, never half read
//   C-4  a struct may grow at its end: what was sealed before stays readable and keeps its bytes
//
// A struct that grew states how many fields it had at first.  The later ones are written only up
// to the last that is not at its default, so a value without them has the bytes it always had, and
// one value still has one encoding.

#pragma once

#include <algorithm>
#include <array>
#include <concepts>
#include <limits>
#include <optional>
#include <string>
#include <tuple>
#include <type_traits>
#include <utility>
#include <vector>

#include "schema/canonical_bytes.h"

namespace endgate::schema {

inline constexpr std::uint16_t kFormat = 1;

template <class Struct, class Member>
struct Field {
  const char* name;
  Member Struct::*member;
};
template <class Struct, class Member>
Field(const char*, Member Struct::*) -> Field<Struct, Member>;

struct NoFields {};
template <class Struct>
inline constexpr NoFields kFields{};
template <class Struct>
concept Listed = !std::is_same_v<std::remove_const_t<decltype(kFields<Struct>)>, NoFields>;

// Values of an enumeration run from 0 to kEnumCount - 1.
template <class Enum>
inline constexpr int kEnumCount = 0;

template <class T>
inline constexpr bool kIsOptional = false;
template <class T>
inline constexpr bool kIsOptional<std::optional<T>> = true;
template <class T>
inline constexpr bool kIsVector = false;
template <class T>
inline constexpr bool kIsVector<std::vector<T>> = true;
template <class T>
inline constexpr bool kIsArray = false;
template <class T, std::size_t N>
inline constexpr bool kIsArray<std::array<T, N>> = true;

template <class T>
void write_value(CanonicalWriter& out, const T& value);
template <class T>
void read_value(CanonicalReader& in, T& value);

// Calls visit(name, member) for each field in order.
template <Listed Struct, class Visit>
void for_each_field(Visit visit) {
  std::apply([&](const auto&... field) { (visit(field.name, field.member), ...); },
             kFields<Struct>);
}

template <Listed Struct>
inline constexpr std::size_t kFieldCount =
    std::tuple_size_v<std::remove_const_t<decltype(kFields<Struct>)>>;

// Of the first sealed form of a struct; specialised, once, when a struct grows.
template <Listed Struct>
inline constexpr std::size_t kFieldsAtFirst = kFieldCount<Struct>;

template <class T>
[[nodiscard]] Bytes bytes_of(const T& value) {
  CanonicalWriter out;
  write_value(out, value);
  return out.take();
}

// Without the late fields at the end that are at their defaults.
template <Listed Struct>
[[nodiscard]] std::size_t fields_written(const Struct& value) {
  std::size_t written = kFieldsAtFirst<Struct>;
  if constexpr (kFieldsAtFirst<Struct> < kFieldCount<Struct>) {
    const Struct untouched{};
    std::size_t index = 0;
    for_each_field<Struct>([&](const char*, auto member) {
      ++index;
      if (index > written && bytes_of(value.*member) != bytes_of(untouched.*member))
        written = index;
    });
  }
  return written;
}

template <Listed Struct>
void write_fields(CanonicalWriter& out, const Struct& value, std::size_t count) {
  std::size_t index = 0;
  for_each_field<Struct>([&](const char*, auto member) {
    if (index++ < count) write_value(out, value.*member);
  });
}

// Reads fields while `more(fields read so far)`; the rest keep their defaults.
template <Listed Struct, class More>
void read_fields_while(CanonicalReader& in, Struct& value, More more) {
  std::size_t read = 0;
  for_each_field<Struct>([&](const char*, auto member) {
    if (!more(read)) return;
    read_value(in, value.*member);
    ++read;
  });
  if (read != fields_written(value)) in.damaged("a field at its default is written at the end");
}

// The fields of a whole document, which end where its bytes end.
template <Listed Struct>
void read_document_fields(CanonicalReader& in, Struct& value) {
  read_fields_while(
      in, value, [&](std::size_t read) { return read < kFieldsAtFirst<Struct> || !in.at_end(); });
  in.end();
}

template <Listed Struct>
void read_group(CanonicalReader& in, Struct& value) {
  const std::size_t count = in.group();
  if (count < kFieldsAtFirst<Struct> || count > kFieldCount<Struct>)
    in.damaged("a group has " + std::to_string(count) + " fields, expected " +
               std::to_string(kFieldCount<Struct>));
  read_fields_while(in, value, [&](std::size_t read) { return read < count; });
}

template <class Elements>
void write_list(CanonicalWriter& out, const Elements& elements) {
  if constexpr (std::is_same_v<typename Elements::value_type, std::uint8_t>) {
    out.bytes(elements);
  } else {
    out.list(elements.size());
    for (const auto& element : elements) write_value(out, element);
  }
}

template <class T>
void write_value(CanonicalWriter& out, const T& value) {
  if constexpr (std::is_same_v<T, bool>) {
    out.boolean(value);
  } else if constexpr (std::is_enum_v<T> || std::is_integral_v<T>) {
    out.integer(static_cast<std::int64_t>(value));
  } else if constexpr (std::is_same_v<T, double>) {
    out.real(value);
  } else if constexpr (std::is_same_v<T, std::string>) {
    out.text(value);
  } else if constexpr (kIsOptional<T>) {
    if (value)
      write_value(out, *value);
    else
      out.missing();
  } else if constexpr (kIsVector<T> || kIsArray<T>) {
    write_list(out, value);
  } else {
    const std::size_t count = fields_written(value);
    out.group(count);
    write_fields(out, value, count);
  }
}

template <class T>
void read_integer(CanonicalReader& in, T& value) {
  const std::int64_t read = in.integer();
  if constexpr (std::is_enum_v<T>) {
    static_assert(kEnumCount<T> > 0, "state kEnumCount of this enumeration");
    if (read < 0 || read >= kEnumCount<T>) in.damaged("no such value of an enumeration");
  } else {
    if (!std::in_range<T>(read)) in.damaged("an integer is out of range");
  }
  value = static_cast<T>(read);
}

template <class T>
void read_vector(CanonicalReader& in, std::vector<T>& value) {
  if constexpr (std::is_same_v<T, std::uint8_t>) {
    value = in.bytes();
  } else {
    value.clear();
    for (std::size_t left = in.list(); left > 0; --left) read_value(in, value.emplace_back());
  }
}

template <class T, std::size_t N>
void read_array(CanonicalReader& in, std::array<T, N>& value) {
  std::vector<T> read;
  read_vector(in, read);
  if (read.size() != N) in.damaged("a list of fixed length has another length");
  std::copy(read.begin(), read.end(), value.begin());
}

template <class T>
void read_value(CanonicalReader& in, T& value) {
  if constexpr (std::is_same_v<T, bool>) {
    value = in.boolean();
  } else if constexpr (std::is_enum_v<T> || std::is_integral_v<T>) {
    read_integer(in, value);
  } else if constexpr (std::is_same_v<T, double>) {
    value = in.real();
  } else if constexpr (std::is_same_v<T, std::string>) {
    value = in.text();
  } else if constexpr (kIsOptional<T>) {
    value.reset();
    if (!in.next_is_missing()) read_value(in, value.emplace());
  } else if constexpr (kIsVector<T>) {
    read_vector(in, value);
  } else if constexpr (kIsArray<T>) {
    read_array(in, value);
  } else {
    read_group(in, value);
  }
}

// A whole document: format, kind, fields.
template <Listed Struct>
[[nodiscard]] Bytes encode_document(std::uint16_t kind, const Struct& value) {
  CanonicalWriter out;
  out.u16(kFormat);
  out.u16(kind);
  write_fields(out, value, fields_written(value));
  return out.take();
}

struct DocumentHead {
  std::uint16_t format = 0;
  std::uint16_t kind = 0;
};

// Throws StoreFault::wrong_version for a format this version cannot read.
[[nodiscard]] inline DocumentHead read_document_head(CanonicalReader& in) {
  DocumentHead head;
  head.format = in.u16();
  head.kind = in.u16();
  if (head.format != kFormat)
    throw StoreFault(StoreFault::Kind::wrong_version,
                     "canonical bytes of format " + std::to_string(head.format) +
                         ", this version reads format " + std::to_string(kFormat));
  return head;
}

template <Listed Struct>
[[nodiscard]] Struct decode_document(std::uint16_t kind, std::span<const std::uint8_t> bytes) {
  CanonicalReader in(bytes);
  const DocumentHead head = read_document_head(in);
  if (head.kind != kind)
    in.damaged("kind " + std::to_string(head.kind) + ", expected " + std::to_string(kind));
  Struct value;
  read_document_fields(in, value);
  return value;
}

}  // namespace endgate::schema

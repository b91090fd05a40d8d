// How does schema/README.md have to spell the fields of a struct?
//
//   "Repair: serial text, finding text, parts text, by text, at WallClock"
//
// Compared without line breaks and repeated spaces, so that the document may wrap as it likes.

#pragma once

#include <fstream>
#include <iterator>
#include <sstream>
#include <string>

#include "schema/canonical.h"

namespace endgate::test {

// Set for each struct that the document names.
template <class Struct>
inline constexpr const char* kStructName = nullptr;

template <class T>
[[nodiscard]] std::string type_word() {
  if constexpr (std::is_same_v<T, bool>) {
    return "boolean";
  } else if constexpr (std::is_enum_v<T> || std::is_integral_v<T>) {
    return "integer";
  } else if constexpr (std::is_same_v<T, double>) {
    return "real";
  } else if constexpr (std::is_same_v<T, std::string>) {
    return "text";
  } else if constexpr (schema::kIsOptional<T>) {
    return type_word<typename T::value_type>() + " or missing";
  } else if constexpr (schema::kIsVector<T> || schema::kIsArray<T>) {
    using Element = typename T::value_type;
    if constexpr (std::is_same_v<Element, std::uint8_t>) return "bytes";
    return "list of " + type_word<Element>();
  } else {
    static_assert(kStructName<T> != nullptr, "name this struct for the document");
    return kStructName<T>;
  }
}

template <class Struct>
[[nodiscard]] std::string field_list() {
  std::string list;
  schema::for_each_field<Struct>([&]<class Member>(const char* name, Member Struct::*) {
    list += (list.empty() ? "" : ", ") + std::string(name) + " " + type_word<Member>();
  });
  return std::string(kStructName<Struct>) + ": " + list;
}

// The words of a text, one space between them.
[[nodiscard]] inline std::string words_of(const std::string& text) {
  std::istringstream in(text);
  std::string words;
  for (std::string word; in >> word;) words += (words.empty() ? "" : " ") + word;
  return words;
}

[[nodiscard]] inline std::string file_text(const std::string& path) {
  std::ifstream in(path);
  return {std::istreambuf_iterator<char>(in), {}};
}

[[nodiscard]] inline std::string schema_document() {
  return file_text(ENDGATE_SOURCE_DIR "/schema/README.md");
}

}  // namespace endgate::test

// A struct with random content in every field of its list, and the comparison of two.

#pragma once

#include <bit>
#include <random>

#include "schema/canonical.h"

namespace endgate::test {

// `at_first`: fields that a struct grew later stay at their defaults and draw no numbers, so that a
// seed gives the same content for ever.
enum class Filled { all, at_first };

class RandomStruct {
 public:
  explicit RandomStruct(unsigned seed, Filled filled = Filled::all)
      : random_(seed), filled_(filled) {}

  template <class T>
  [[nodiscard]] T make() {
    T value{};
    fill(value);
    return value;
  }

 private:
  std::size_t below(std::size_t n) { return random_() % n; }

  template <class T>
  void fill(T& value) {
    if constexpr (std::is_same_v<T, bool>) {
      value = below(2) == 1;
    } else if constexpr (std::is_enum_v<T>) {
      value = static_cast<T>(below(static_cast<std::size_t>(schema::kEnumCount<T>)));
    } else if constexpr (std::is_integral_v<T>) {
      value = static_cast<T>(random_());
    } else if constexpr (std::is_same_v<T, double>) {
      do value = std::bit_cast<double>(random_());
      while (value != value);
    } else if constexpr (std::is_same_v<T, std::string>) {
      static const char* const words[] = {"", "hold_400", "l\xc3\xa4uft", "a'b\"c", "\xe2\x82\xac"};
      value = words[below(5)];
      value += static_cast<char>('a' + below(26));
    } else if constexpr (schema::kIsOptional<T>) {
      if (below(3) == 0) return value.reset();
      fill(value.emplace());
    } else if constexpr (schema::kIsVector<T>) {
      value.resize(below(4));
      for (auto& element : value) fill(element);
    } else if constexpr (schema::kIsArray<T>) {
      for (auto& element : value) fill(element);
    } else {
      std::size_t index = 0;
      schema::for_each_field<T>([&](const char*, auto member) {
        if (filled_ == Filled::all || index < schema::kFieldsAtFirst<T>) fill(value.*member);
        ++index;
      });
    }
  }

  std::mt19937_64 random_;
  Filled filled_;
};

// Bit by bit, so that -0.0 differs from 0.0.
template <class T>
[[nodiscard]] bool same_fields(const T& a, const T& b) {
  if constexpr (std::is_same_v<T, double>) {
    return std::bit_cast<std::uint64_t>(a) == std::bit_cast<std::uint64_t>(b);
  } else if constexpr (schema::kIsOptional<T>) {
    return a.has_value() == b.has_value() && (!a || same_fields(*a, *b));
  } else if constexpr (schema::kIsVector<T> || schema::kIsArray<T>) {
    if (a.size() != b.size()) return false;
    for (std::size_t i = 0; i < a.size(); ++i)
      if (!same_fields(a[i], b[i])) return false;
    return true;
  } else if constexpr (schema::Listed<T>) {
    bool same = true;
    schema::for_each_field<T>(
        [&](const char*, auto member) { same = same && same_fields(a.*member, b.*member); });
    return same;
  } else {
    return a == b;
  }
}

}  // namespace endgate::test

// Do packed columns give every value back, exactly, and refuse what was cut?

#include "schema/packed_column.h"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <limits>
#include <random>

#include "schema/store_fault.h"

namespace endgate::schema {
namespace {

std::vector<std::int64_t> there_and_back(const std::vector<std::int64_t>& values) {
  std::vector<std::int64_t> out(values.size());
  unpack(pack(values), std::span<std::int64_t>(out));
  return out;
}

TEST(PackedColumn, GivesBackIntegersOfAnySpan) {
  constexpr auto kLeast = std::numeric_limits<std::int64_t>::min();
  constexpr auto kMost = std::numeric_limits<std::int64_t>::max();
  const std::vector<std::vector<std::int64_t>> columns = {
      {},           {7},
      {7, 7, 7, 7}, {1, 2, 3, 250},
      {-5, 70000},  {1795604833382, 1795604842180, 1795604833381},
      {0, 1, 0, 1}, {kLeast, kMost, 0, -1}};
  for (const auto& column : columns) EXPECT_EQ(there_and_back(column), column);
}

TEST(PackedColumn, GivesBackEveryBitOfADoubleAndWhatIsMissing) {
  std::mt19937 random(3);
  std::vector<double> values = {0.0, -0.0, std::nan(""), 5e-324, -1e308};
  for (int i = 0; i < 100; ++i) values.push_back(std::generate_canonical<double, 53>(random));
  std::vector<double> out(values.size());
  unpack(pack(values), std::span<double>(out));
  for (std::size_t i = 0; i < values.size(); ++i)
    EXPECT_EQ(std::bit_cast<std::uint64_t>(out[i]), std::bit_cast<std::uint64_t>(values[i]));
}

TEST(PackedColumn, WhatRepeatsTakesNextToNothing) {
  EXPECT_LT(pack(std::vector<std::int64_t>(1024, 7)).size(), 20U);
  EXPECT_LT(pack(std::vector<double>(1024, std::nan(""))).size(), 20U);
}

TEST(PackedColumn, GivesBackTexts) {
  const std::vector<std::string> texts = {"QH2648-2028-9", "", "two\nlines", "QH2648-2029-7"};
  EXPECT_EQ(unpack_texts(pack(texts), texts.size()), texts);
}

TEST(PackedColumn, ACutColumnIsDamagedAndNeverReadBeyondItsEnd) {
  const std::vector<std::vector<std::int64_t>> columns = {{7, 7, 7, 7, 8}, {1, 2, 3, 4, 90}};
  for (const auto& column : columns) {
    const Bytes whole = pack(column);
    std::vector<std::int64_t> out(column.size());
    for (std::size_t size = 0; size < whole.size(); ++size)
      EXPECT_THROW(unpack(std::span(whole).first(size), std::span<std::int64_t>(out)), StoreFault);
    out.resize(column.size() + 1);
    EXPECT_THROW(unpack(whole, std::span<std::int64_t>(out)), StoreFault);
  }
  const Bytes texts = pack(std::vector<std::string>{"one", "two"});
  for (std::size_t size = 0; size < texts.size(); ++size)
    EXPECT_THROW((void)unpack_texts(std::span(texts).first(size), 2), StoreFault);
}

}  // namespace
}  // namespace endgate::schema

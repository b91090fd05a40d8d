// What is left of many values when only their number, spread and shape count?
//
// Counts lie on a grid that never moves: 256 bins to every doubling of the size of a value, so a
// bin is 0.2 to 0.4 % wide, on either side of zero; any two rollups can be added up.  Moments are
// merged by Chan's formulas and agree with one pass over the values to about 1e-12 of them.

#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "schema/sha256.h"

namespace endgate::schema {

struct TrendRollup {
  std::int64_t n = 0;
  double mean = 0, square = 0;  // sum of squares about the mean
  double least = 0, most = 0;
  struct Bin {
    std::int32_t number = 0;
    std::int64_t count = 0;
  };
  std::vector<Bin> bins{};  // by number

  void add(double value);
  void add(const TrendRollup& other);
  [[nodiscard]] double sigma() const;  // 0 with fewer than two
  // The value that a share of all lies below, right to a bin; n > 0.
  [[nodiscard]] double quantile(double share) const;

 private:
  void count(std::int32_t bin, std::int64_t more);
};

[[nodiscard]] std::int32_t bin_of(double value);
[[nodiscard]] double lower_edge_of(std::int32_t bin);  // nearer to zero

[[nodiscard]] Bytes bins_bytes(const TrendRollup& rollup);
void take_bins(TrendRollup& rollup, std::span<const std::uint8_t> bytes);  // StoreFault::damaged

}  // namespace endgate::schema

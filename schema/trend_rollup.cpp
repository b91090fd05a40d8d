#include "schema/trend_rollup.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>

#include "schema/store_fault.h"

namespace endgate::schema {
namespace {

// Sign, exponent and the first eight bits of the fraction: a grid for the price of a shift.
constexpr int kShift = 44;

double middle_of(std::int32_t bin) {
  const std::int32_t next = bin < 0 ? bin - 1 : bin + 1;
  return (lower_edge_of(bin) + lower_edge_of(next)) / 2;
}

}  // namespace

std::int32_t bin_of(double value) {
  const auto size =
      static_cast<std::int32_t>(std::bit_cast<std::uint64_t>(std::abs(value)) >> kShift);
  return value < 0 ? -size - 1 : size;
}

double lower_edge_of(std::int32_t bin) {
  const std::int32_t size = bin < 0 ? -bin - 1 : bin;
  const double edge =
      std::bit_cast<double>(static_cast<std::uint64_t>(static_cast<std::uint32_t>(size)) << kShift);
  return bin < 0 ? -edge : edge;
}

void TrendRollup::add(double value) {
  const double from_mean = value - mean;
  least = n == 0 ? value : std::min(least, value);
  most = n == 0 ? value : std::max(most, value);
  ++n;
  mean += from_mean / static_cast<double>(n);
  square += from_mean * (value - mean);
  count(bin_of(value), 1);
}

void TrendRollup::add(const TrendRollup& other) {
  if (other.n == 0) return;
  if (n == 0) {
    *this = other;
    return;
  }
  const double here = static_cast<double>(n), there = static_cast<double>(other.n);
  const double apart = other.mean - mean;
  n += other.n;
  mean += apart * there / (here + there);
  square += other.square + apart * apart * here * there / (here + there);
  least = std::min(least, other.least);
  most = std::max(most, other.most);
  for (const Bin& bin : other.bins) count(bin.number, bin.count);
}

void TrendRollup::count(std::int32_t bin, std::int64_t more) {
  const auto place = std::ranges::lower_bound(bins, bin, {}, &Bin::number);
  if (place != bins.end() && place->number == bin)
    place->count += more;
  else
    bins.insert(place, {bin, more});
}

double TrendRollup::sigma() const {
  return n < 2 ? 0 : std::sqrt(square / static_cast<double>(n - 1));
}

double TrendRollup::quantile(double share) const {
  const auto rank = static_cast<std::int64_t>(share * static_cast<double>(n - 1));
  std::int64_t below = 0;
  for (const Bin& bin : bins) {
    below += bin.count;
    if (below > rank) return std::clamp(middle_of(bin.number), least, most);
  }
  return most;
}

// For each bin its distance to the one before (the first to the least i32) and its count, seven
// bits a byte, lowest first, the eighth bit says that more follow.
Bytes bins_bytes(const TrendRollup& rollup) {
  Bytes out;
  const auto put = [&](std::uint64_t number) {
    for (; number >= 128; number >>= 7) out.push_back(static_cast<std::uint8_t>(number | 128));
    out.push_back(static_cast<std::uint8_t>(number));
  };
  std::int32_t before = std::numeric_limits<std::int32_t>::min();
  for (const TrendRollup::Bin& bin : rollup.bins) {
    put(static_cast<std::uint64_t>(static_cast<std::int64_t>(bin.number) - before));
    put(static_cast<std::uint64_t>(bin.count));
    before = bin.number;
  }
  return out;
}

void take_bins(TrendRollup& rollup, std::span<const std::uint8_t> bytes) {
  const auto take = [&] {
    std::uint64_t number = 0;
    for (int shift = 0; shift < 63; shift += 7) {
      if (bytes.empty()) break;
      const std::uint8_t byte = bytes.front();
      bytes = bytes.subspan(1);
      number |= static_cast<std::uint64_t>(byte & 127) << shift;
      if (byte < 128) return static_cast<std::int64_t>(number);
    }
    throw StoreFault(StoreFault::Kind::damaged, "the bins of a rollup are not what was written");
  };
  rollup.bins.reserve(bytes.size() / 2);
  std::int64_t number = std::numeric_limits<std::int32_t>::min();
  while (!bytes.empty()) {
    number += take();
    rollup.bins.push_back({static_cast<std::int32_t>(number), take()});
  }
}

}  // namespace endgate::schema

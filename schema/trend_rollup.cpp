#include "schema/trend_rollup.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <vector>

#include "schema/packed_column.h"
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
  ++bins[bin_of(value)];
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
  for (const auto& [bin, count] : other.bins) bins[bin] += count;
}

double TrendRollup::sigma() const {
  return n < 2 ? 0 : std::sqrt(square / static_cast<double>(n - 1));
}

double TrendRollup::quantile(double share) const {
  const auto rank = static_cast<std::int64_t>(share * static_cast<double>(n - 1));
  std::int64_t below = 0;
  for (const auto& [bin, count] : bins) {
    below += count;
    if (below > rank) return std::clamp(middle_of(bin), least, most);
  }
  return most;
}

Bytes bins_bytes(const TrendRollup& rollup) {
  std::vector<std::int64_t> numbers;
  std::int32_t before = 0;
  for (const auto& [bin, count] : rollup.bins) {
    numbers.push_back(bin - before);
    before = bin;
  }
  for (const auto& [bin, count] : rollup.bins) numbers.push_back(count);
  // The first distance is large, the others and most counts fit in a byte.
  const std::int64_t first = numbers.empty() ? 0 : numbers.front();
  if (!numbers.empty()) numbers.front() = 0;
  Bytes out = pack(numbers);
  const auto head = {static_cast<std::int64_t>(numbers.size()), first};
  const Bytes sizes = pack(std::vector<std::int64_t>(head));
  out.insert(out.begin(), sizes.begin(), sizes.end());
  out.insert(out.begin(), static_cast<std::uint8_t>(sizes.size()));
  return out;
}

void take_bins(TrendRollup& rollup, std::span<const std::uint8_t> bytes) {
  if (bytes.empty() || bytes.size() <= bytes[0])
    throw StoreFault(StoreFault::Kind::damaged, "the bins of a rollup end too early");
  std::vector<std::int64_t> head(2);
  unpack(bytes.subspan(1, bytes[0]), std::span<std::int64_t>(head));
  if (head[0] < 0 || head[0] > (std::int64_t{1} << 28))
    throw StoreFault(StoreFault::Kind::damaged, "the bins of a rollup are too many");
  std::vector<std::int64_t> numbers(static_cast<std::size_t>(head[0]));
  unpack(bytes.subspan(1 + bytes[0]), std::span<std::int64_t>(numbers));
  const std::size_t bins = numbers.size() / 2;
  std::int64_t bin = head[1];
  for (std::size_t i = 0; i < bins; ++i) {
    bin += numbers[i];
    rollup.bins.emplace_hint(rollup.bins.end(), static_cast<std::int32_t>(bin), numbers[bins + i]);
  }
}

}  // namespace endgate::schema

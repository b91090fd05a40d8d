#include "analysis/odd_samples.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>

namespace endgate::analysis {
namespace {

constexpr std::size_t kBeside = 3;
constexpr std::size_t kAround = 16;
constexpr double kNormal = 1.4826;  // standard over median deviation
using Neighbours = std::array<double, 2 * kBeside>;

double median_of(Neighbours values) {
  std::sort(values.begin(), values.end());
  return (values[kBeside - 1] + values[kBeside]) / 2;
}

Neighbours neighbours_of(std::span<const double> values, std::size_t i) {
  const std::size_t last = values.size() - 1;
  const std::size_t first = std::min(i - std::min(i, kBeside), last - 2 * kBeside);
  Neighbours neighbours{};
  std::size_t next = 0;
  for (std::size_t k = first; k <= first + 2 * kBeside; ++k)
    if (k != i) neighbours[next++] = values[k];
  return neighbours;
}

struct Distance {
  double from_median = 0;
  double spread = 0;  // median distance of the neighbours
};

Distance distance_of(std::span<const double> values, std::size_t i) {
  Neighbours neighbours = neighbours_of(values, i);
  const double middle = median_of(neighbours);
  for (double& value : neighbours) value = std::abs(value - middle);
  return {std::abs(values[i] - middle), median_of(neighbours)};
}

double third_largest_beside(const std::vector<Distance>& distances, std::size_t i) {
  std::array<double, 3> largest{};  // falling
  const std::size_t end = std::min(distances.size(), i + kAround + 1);
  for (std::size_t k = i - std::min(i, kAround); k < end; ++k) {
    const double value = distances[k].from_median;
    if (k == i || value <= largest[2]) continue;
    largest[2] = value;
    std::sort(largest.begin(), largest.end(), std::greater<>());
  }
  return largest[2];
}

// Between the 5 % and the 95 % quantile.
double usual_range(std::span<const double> values) {
  std::vector<double> sorted(values.begin(), values.end());
  std::sort(sorted.begin(), sorted.end());
  return sorted[sorted.size() * 19 / 20] - sorted[sorted.size() / 20];
}

}  // namespace

std::vector<std::size_t> odd_samples(std::span<const double> values, double floor) {
  std::vector<std::size_t> odd;
  if (values.size() <= 2 * kBeside) return odd;
  const double gross = kGross * usual_range(values);
  std::vector<Distance> distances;
  distances.reserve(values.size());
  for (std::size_t i = 0; i < values.size(); ++i) distances.push_back(distance_of(values, i));
  for (std::size_t i = 0; i < values.size(); ++i) {
    const double distance = distances[i].from_median;
    if (!(distance > kOdd * std::max(floor, kNormal * distances[i].spread))) continue;
    if (distance > gross || distance > kAlone * third_largest_beside(distances, i))
      odd.push_back(i);
  }
  return odd;
}

}  // namespace endgate::analysis

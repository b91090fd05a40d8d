#include "analysis/statistics/batch_summary.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

namespace endgate::statistics {
namespace {

constexpr std::size_t kBins = 256;

struct Spread {
  double least, most;
};

// Four at a time: the comparisons of one chain would wait for each other.
Spread spread_of(std::span<const double> values) {
  std::array<double, 4> least, most;
  least.fill(values.front());
  most.fill(values.front());
  std::size_t i = 0;
  for (; i + 4 <= values.size(); i += 4)
    for (std::size_t lane = 0; lane < 4; ++lane) {
      const double value = values[i + lane];
      least[lane] = value < least[lane] ? value : least[lane];
      most[lane] = value > most[lane] ? value : most[lane];
    }
  for (; i < values.size(); ++i) {
    least[0] = std::min(least[0], values[i]);
    most[0] = std::max(most[0], values[i]);
  }
  return {*std::ranges::min_element(least), *std::ranges::max_element(most)};
}

// Which bin each value lies in.  A larger value never lies in an earlier bin: subtraction and
// multiplication by a positive factor round monotonically.
class Bins {
 public:
  Bins(std::span<const double> values, Spread spread) : of_value_(values.size()) {
    const double scale = (kBins - 1) / (spread.most - spread.least);
    for (std::size_t i = 0; i < values.size(); ++i)
      of_value_[i] =
          static_cast<std::uint8_t>(static_cast<int>((values[i] - spread.least) * scale));
    for (const std::uint8_t bin : of_value_) ++count_[bin];
  }
  struct Place {
    std::size_t bin = 0, before = 0;  // values in earlier bins
  };
  [[nodiscard]] Place of_rank(std::size_t rank) const {
    Place place;
    while (place.before + count_[place.bin] <= rank) place.before += count_[place.bin++];
    return place;
  }
  // Values of the wanted bins, each into the list of its bin; `list_of_bin` is 0 for the others.
  void gather(std::span<const double> values, const std::array<std::uint8_t, kBins>& list_of_bin,
              std::span<std::vector<double>> lists) const {
    for (std::size_t i = 0; i < values.size(); ++i)
      if (const std::uint8_t list = list_of_bin[of_value_[i]])
        lists[static_cast<std::size_t>(list - 1)].push_back(values[i]);
  }

 private:
  std::vector<std::uint8_t> of_value_;
  std::array<std::size_t, kBins> count_{};
};

std::size_t rank_of(double share, std::size_t n) {
  const double count = std::ceil(share * static_cast<double>(n));
  return static_cast<std::size_t>(std::max(1.0, count)) - 1;
}

}  // namespace

std::vector<double> values_of_rank(std::span<const double> values,
                                   std::span<const std::size_t> ranks) {
  const Spread spread = spread_of(values);
  std::vector<double> found(ranks.size(), spread.least);
  // Equal values, or a span too narrow or too wide to divide.
  const double scale = (kBins - 1) / (spread.most - spread.least);
  if (!(spread.most > spread.least)) return found;
  if (!std::isfinite(scale) || !(scale > 0)) {
    std::vector<double> sorted(values.begin(), values.end());
    std::ranges::sort(sorted);
    std::ranges::transform(ranks, found.begin(), [&](std::size_t rank) { return sorted[rank]; });
    return found;
  }
  const Bins bins(values, spread);
  std::array<std::uint8_t, kBins> list_of_bin{};
  std::vector<std::vector<double>> lists(std::min(ranks.size(), kBins));
  std::uint8_t used = 0;
  for (const std::size_t rank : ranks)
    if (std::uint8_t& list = list_of_bin[bins.of_rank(rank).bin]; list == 0) list = ++used;
  bins.gather(values, list_of_bin, lists);
  for (std::size_t i = 0; i < ranks.size(); ++i) {
    const Bins::Place place = bins.of_rank(ranks[i]);
    std::vector<double>& near = lists[list_of_bin[place.bin] - 1U];
    const auto at = near.begin() + static_cast<std::ptrdiff_t>(ranks[i] - place.before);
    std::ranges::nth_element(near, at);
    found[i] = *at;
  }
  return found;
}

BatchSummaries::Open& BatchSummaries::open_of(std::string_view batch) {
  if (!open_.empty() && open_.back().name == batch) return open_.back();
  const auto known = place_.find(batch);
  if (known != place_.end()) return open_[known->second];
  place_.emplace(std::string(batch), open_.size());
  return open_.emplace_back(Open{.name = std::string(batch)});
}

void BatchSummaries::add(std::string_view batch, std::span<const double> values) {
  if (values.empty()) return;
  Open& open = open_of(batch);
  open.values.insert(open.values.end(), values.begin(), values.end());
  // Three chains of dependent steps, side by side.
  double running = begun_ ? running_mean_ : values.front();
  const double about = open.values.front();
  analysis::Sum sum = open.sum, square = open.square;
  for (const double value : values) {
    running += lambda_ * (value - running);
    const double d = value - about;
    sum.add(d);
    square.add(d * d);
  }
  open.sum = sum, open.square = square;
  begun_ = true;
  running_mean_ = open.running_mean = running;
}

BatchSummary BatchSummaries::summary_of(Open& open) {
  BatchSummary summary{
      .batch = std::move(open.name), .n = open.values.size(), .running_mean = open.running_mean};
  const double n = static_cast<double>(summary.n), sum = open.sum.value();
  summary.mean = open.values.front() + sum / n;
  const double scatter = open.square.value() - sum * sum / n;
  summary.sigma = n > 1 ? std::sqrt(std::max(0.0, scatter) / (n - 1)) : 0;
  const std::array ranks = {rank_of(0.01, summary.n), rank_of(0.5, summary.n),
                            rank_of(0.99, summary.n)};
  const std::vector<double> points = values_of_rank(open.values, ranks);
  summary.p1 = points[0], summary.p50 = points[1], summary.p99 = points[2];
  return summary;
}

std::vector<BatchSummary> BatchSummaries::finish() {
  std::vector<BatchSummary> summaries;
  for (Open& open : open_) summaries.push_back(summary_of(open));
  open_.clear();
  place_.clear();
  return summaries;
}

}  // namespace endgate::statistics

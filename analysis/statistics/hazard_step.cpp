#include "analysis/statistics/hazard_step.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <tuple>

#include "analysis/statistics/distribution.h"

namespace endgate::statistics {
namespace {

using analysis::Refusal;
using analysis::RefusalKind;

constexpr double kNoBound = 12;  // of ln_ratio: no step that anything real makes
constexpr double kPower = 0.8;
constexpr double kWide = 1.959963984540054;

// Over units: sum of exp(b x), of x exp(b x), of x^2 exp(b x).
struct Weighed {
  double w = 0, wx = 0, wxx = 0;
  void add(double x, double weight) { w += weight, wx += weight * x, wxx += weight * x * x; }
};

struct Slope {
  double log_likelihood = 0, score = 0, information = 0;
};

// Those who came back at one age against those still out, themselves shared out among the ties.
void add_age(Slope& slope, const Weighed& out, const Weighed& back, int returned) {
  for (int i = 0; i < returned; ++i) {
    const double share = static_cast<double>(i) / returned;
    const double w = out.w - share * back.w;
    const double mean = (out.wx - share * back.wx) / w;
    slope.log_likelihood -= std::log(w);
    slope.score -= mean;
    slope.information += (out.wxx - share * back.wxx) / w - mean * mean;
  }
}

bool same_age(const Exposed& a, const Exposed& b) {
  return a.stratum == b.stratum && a.time == b.time;
}

// `oldest_first`: stratum by stratum, in each by time, falling.
Slope slope_at(const std::vector<Exposed>& oldest_first, double b) {
  Slope slope;
  Weighed out;
  for (std::size_t i = 0; i < oldest_first.size();) {
    if (i > 0 && oldest_first[i].stratum != oldest_first[i - 1].stratum) out = {};
    const std::size_t age = i;
    Weighed back;
    int returned = 0;
    for (; i < oldest_first.size() && same_age(oldest_first[i], oldest_first[age]); ++i) {
      const Exposed& unit = oldest_first[i];
      const double weight = std::exp(b * unit.x);
      out.add(unit.x, weight);
      if (!unit.returned) continue;
      ++returned;
      back.add(unit.x, weight);
      slope.log_likelihood += b * unit.x;
      slope.score += unit.x;
    }
    add_age(slope, out, back, returned);
  }
  return slope;
}

// Newton's way, halved while it leads down; nothing when the top lies beyond every bound.
std::optional<double> top_of(const std::vector<Exposed>& oldest_first) {
  double b = 0;
  Slope here = slope_at(oldest_first, b);
  for (int round = 0; round < 60; ++round) {
    double step = std::clamp(here.score / here.information, -2.0, 2.0);
    Slope next = slope_at(oldest_first, b + step);
    for (int half = 0; half < 30 && next.log_likelihood < here.log_likelihood; ++half) {
      step /= 2;
      next = slope_at(oldest_first, b + step);
    }
    b += step;
    here = next;
    if (!(std::abs(b) < kNoBound) || !(here.information > 0)) return std::nullopt;
    if (std::abs(step) < 1e-10) return b;
  }
  return std::nullopt;
}

void sort_oldest_first(std::vector<Exposed>& units) {
  std::ranges::stable_sort(units, [](const Exposed& a, const Exposed& b) {
    return std::tie(a.stratum, b.time) < std::tie(b.stratum, a.time);
  });
}

}  // namespace

double HazardStep::ratio() const { return std::exp(ln_ratio); }

Interval HazardStep::ratio_95() const {
  return {std::exp(ln_ratio - kWide * u), std::exp(ln_ratio + kWide * u)};
}

analysis::Outcome<HazardStep> hazard_step(std::vector<Exposed> units) {
  if (std::ranges::count_if(units, &Exposed::returned) < 3)
    return Refusal{RefusalKind::too_few_points, "fewer than three came back", std::nullopt};
  sort_oldest_first(units);
  const Slope without = slope_at(units, 0);
  if (!(without.information > 1e-12))
    return Refusal{RefusalKind::singular, "all units have the same value", std::nullopt};
  const auto top = top_of(units);
  if (!top)
    return Refusal{RefusalKind::singular, "all that came back lie at one end", std::nullopt};
  const Slope at_top = slope_at(units, *top);
  return HazardStep{.ln_ratio = *top,
                    .u = 1 / std::sqrt(at_top.information),
                    .log_likelihood = at_top.log_likelihood,
                    .log_likelihood_without = without.log_likelihood,
                    .p = chi_square_above(without.score * without.score / without.information, 1)};
}

std::int64_t returns_compared(std::vector<Exposed> units) {
  sort_oldest_first(units);
  std::int64_t compared = 0;
  std::size_t first = 0;  // of the stratum
  for (std::size_t i = 0; i < units.size(); ++i) {
    if (units[i].stratum != units[first].stratum) first = i;
    const bool another = i > first || (i + 1 < units.size() && same_age(units[i], units[i + 1]));
    if (units[i].returned && another) ++compared;
  }
  return compared;
}

std::vector<double> normal_scores(std::span<const double> values) {
  std::vector<std::size_t> order(values.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::stable_sort(order, {}, [&](std::size_t i) { return values[i]; });
  std::vector<double> scores(values.size());
  for (std::size_t i = 0; i < order.size();) {
    std::size_t end = i;
    while (end < order.size() && values[order[end]] == values[order[i]]) ++end;
    const double rank = static_cast<double>(i + end + 1) / 2;  // mean of i + 1 ... end
    const double score = normal_quantile((rank - 0.5) / static_cast<double>(values.size()));
    for (; i < end; ++i) scores[order[i]] = score;
  }
  return scores;
}

double least_ratio_shown(double returns, double false_alarm) {
  return std::exp((normal_quantile(1 - false_alarm / 2) + normal_quantile(kPower)) /
                  std::sqrt(returns));
}

}  // namespace endgate::statistics

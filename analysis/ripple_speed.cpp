#include "analysis/ripple_speed.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "analysis/ripple_fit.h"
#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr double kFewestRevolutions = 12;

std::optional<Refusal> unusable(std::span<const double> current, double rate,
                                const RippleExpectation& e) {
  if (!(rate > 0) || !(e.slowest_rev_s > 0) || !(e.fastest_rev_s > e.slowest_rev_s) ||
      e.commutations_per_rev < 3)
    return Refusal{RefusalKind::value_out_of_domain,
                   "sample rate, speed range or commutations per revolution make no sense",
                   {}};
  if (static_cast<double>(current.size()) / rate * e.slowest_rev_s < kFewestRevolutions)
    return Refusal{RefusalKind::too_few_points, "the waveform is shorter than 12 revolutions", {}};
  if ((e.commutations_per_rev + 3) * e.fastest_rev_s > rate / 2)
    return Refusal{
        RefusalKind::span_too_narrow, "the sample rate is too low for the commutation", {}};
  for (std::size_t i = 0; i < current.size(); ++i)
    if (!std::isfinite(current[i]))
      return Refusal{RefusalKind::non_finite_input, "a sample is not a number", i};
  return std::nullopt;
}

std::vector<int> orders_of(int m, double speed_rev_s, double rate) {
  std::vector<int> orders;
  for (int order = 1; order <= m + 2; ++order) orders.push_back(order);
  const bool second_fits = 2 * m > m + 2 && (2 * m + 1) * speed_rev_s < rate / 2;
  if (second_fits) orders.push_back(2 * m);
  return orders;
}

// A stranger near an order that may be empty would be taken for a line of the crank.
std::vector<bool> has_say(std::span<const int> orders, int m) {
  std::vector<bool> out;
  for (const int order : orders) out.push_back(order <= 2 || order == m || order == 2 * m);
  return out;
}

// Power of the residual at one frequency, in A^2 per sample if it were white.
double power_at(std::span<const double> residual, double cycles) {
  const auto n = static_cast<double>(residual.size());
  const std::complex<double> turn = std::polar(1.0, -2 * std::numbers::pi * cycles / n);
  std::complex<double> phasor = 1;
  Sum real, imaginary;
  for (const double value : residual) {
    real.add(value * phasor.real());
    imaginary.add(value * phasor.imag());
    phasor *= turn;
  }
  return (real.value() * real.value() + imaginary.value() * imaginary.value()) / n;
}

// Beside a line; a stranger within a bin of it stays in the next bins and counts.
double noise_beside(std::span<const double> residual, double line_cycles) {
  Sum sum;
  for (const int bin : {-4, -3, -2, -1, 1, 2, 3, 4}) sum.add(power_at(residual, line_cycles + bin));
  return sum.value() / 8;
}

// The noise that counts: each line's by its part in knowing the speed.
double noise_of(const RippleFit& fit, std::span<const int> orders, double record_s,
                std::vector<RippleLine>& lines) {
  Sum weighted, weights;
  for (std::size_t l = 0; l < orders.size(); ++l) {
    const double noise = noise_beside(fit.residual, orders[l] * fit.speed_rev_s * record_s);
    const double amplitude = std::hypot(fit.cosine[l], fit.sine[l]);
    const double weight = fit.shows[l] ? std::pow(orders[l] * amplitude, 2) : 0;
    weighted.add(weight * noise);
    weights.add(weight);
    lines.push_back(
        {orders[l], amplitude, std::sqrt(2 * noise / static_cast<double>(fit.residual.size()))});
  }
  return weights.value() > 0 ? weighted.value() / weights.value() : 0;
}

const RippleLine* line_of(const RippleSpeed& ripple, int order) {
  const auto found = std::find_if(ripple.lines.begin(), ripple.lines.end(),
                                  [order](const RippleLine& line) { return line.order == order; });
  const bool shows = found != ripple.lines.end() && found->amplitude_a > 4 * found->u_a;
  return shows ? &*found : nullptr;
}

// Of the root of a sum of squares whose own variance is given; near 0 the root of its size.
double u_of_root(double square, double variance) {
  const double fourth_root = std::sqrt(std::sqrt(variance));
  if (!(square > 0)) return fourth_root;
  return std::min(fourth_root, std::sqrt(variance) / (2 * std::sqrt(square)));
}

}  // namespace

Outcome<RippleSpeed> ripple_speed(std::span<const double> current_a, double sample_rate_hz,
                                  const RippleExpectation& expected) {
  if (auto refusal = unusable(current_a, sample_rate_hz, expected)) return *refusal;
  const double record_s = static_cast<double>(current_a.size()) / sample_rate_hz;
  const auto block = static_cast<std::size_t>(2 * expected.fastest_rev_s * record_s);
  const RippleLock lock = ripple_lock(ripple_spectrum(current_a, sample_rate_hz, block), expected);
  const std::vector<int> orders =
      orders_of(expected.commutations_per_rev, lock.speed_rev_s, sample_rate_hz);
  const RippleFit fit =
      fit_ripple(current_a, sample_rate_hz, orders, has_say(orders, expected.commutations_per_rev),
                 lock.speed_rev_s);
  RippleSpeed out{
      fit.speed_rev_s, 0, fit.drift_rev_s2, lock.probability, expected.commutations_per_rev, {}};
  const double noise = noise_of(fit, orders, record_s, out.lines);
  out.u_rev_s = std::sqrt(fit.speed_variance * noise);
  const bool any_shows = std::find(fit.shows.begin(), fit.shows.end(), true) != fit.shows.end();
  // A fit that left the bin it was locked on has found something else.
  const double moved_bins =
      std::abs(fit.speed_rev_s - lock.speed_rev_s) * record_s * expected.commutations_per_rev;
  if (!any_shows || !(moved_bins < 1)) out.lock_probability = 0;
  return out;
}

std::optional<RippleRatio> commutator_irregularity(const RippleSpeed& ripple) {
  const int m = ripple.commutations_per_rev;
  const RippleLine* commutation = line_of(ripple, m);
  if (m < 9 || commutation == nullptr) return std::nullopt;
  Sum square, variance;
  for (const RippleLine& line : ripple.lines) {
    if (line.order < 5 || line.order > m - 3) continue;
    const double noise = line.u_a * line.u_a;
    square.add(line.amplitude_a * line.amplitude_a - 2 * noise);
    variance.add(4 * noise * (line.amplitude_a * line.amplitude_a + noise));
  }
  const double root = std::sqrt(std::max(0.0, square.value()));
  const double ratio = root / commutation->amplitude_a;
  return RippleRatio{
      ratio, std::hypot(u_of_root(square.value(), variance.value()), ratio * commutation->u_a) /
                 commutation->amplitude_a};
}

std::optional<RippleRatio> cylinder_imbalance(const RippleSpeed& ripple) {
  const RippleLine* twice = line_of(ripple, 2);
  if (twice == nullptr) return std::nullopt;
  const RippleLine& once = ripple.lines.front();
  const double ratio = once.amplitude_a / twice->amplitude_a;
  return RippleRatio{ratio, std::hypot(once.u_a, ratio * twice->u_a) / twice->amplitude_a};
}

}  // namespace endgate::analysis

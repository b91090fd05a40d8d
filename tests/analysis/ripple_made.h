// Currents of brush motors on a crank, made from a known crank angle; for tests and the benchmark.

#pragma once

#include <cmath>
#include <numbers>
#include <random>
#include <vector>

namespace endgate::analysis::ripple_made {

struct Motor {
  int commutations = 12;
  double speed_rev_s = 47.3;
  double drift_rev_s2 = 0;
  double once_a = 1.5, twice_a = 0.5;  // gas torque
  double commutation_a = 0.3;
  double uneven_a = 0;            // amplitude of each order 5 ... M - 3
  double within_turn_rel = 0.01;  // swing of the speed within a revolution
  double stranger_a = 0, stranger_hz = 0;
  double noise_a = 0.2;
};

inline double current_at(const Motor& m, double angle) {
  double i = 8 + m.once_a * std::cos(angle) + m.twice_a * std::sin(2 * angle + 0.4);
  i += m.commutation_a * std::cos(m.commutations * angle + 0.7);
  i += 0.3 * m.commutation_a * std::cos(2 * m.commutations * angle + 0.2);
  for (int order = 5; order <= m.commutations - 3; ++order)
    i += m.uneven_a * std::cos(order * angle + order * order);
  return i;
}

// The mean speed over the record is `speed_rev_s`: it lies evenly about time 0.
inline std::vector<double> waveform(const Motor& m, double rate_hz, std::size_t samples,
                                    std::mt19937_64& random) {
  constexpr double kTwoPi = 2 * std::numbers::pi;
  std::normal_distribution<double> noise(0, m.noise_a);
  const double start = std::uniform_real_distribution<double>(0, kTwoPi)(random);
  std::vector<double> out(samples);
  for (std::size_t k = 0; k < samples; ++k) {
    const double t = (static_cast<double>(k) - (static_cast<double>(samples) - 1) / 2) / rate_hz;
    const double even = start + kTwoPi * (m.speed_rev_s * t + m.drift_rev_s2 * t * t / 2);
    const double angle = even + m.within_turn_rel * std::sin(even);
    out[k] = current_at(m, angle) + m.stranger_a * std::cos(kTwoPi * m.stranger_hz * t + start) +
             noise(random);
  }
  return out;
}

// Anything from a clear motor to one that drowns in noise, half of them beside a stranger's line.
inline Motor any_motor(std::mt19937_64& random) {
  const auto between = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  Motor m;
  constexpr int kBars[] = {10, 11, 12, 14, 16};
  m.commutations = kBars[random() % 5];
  m.speed_rev_s = between(30, 60);
  m.drift_rev_s2 = between(-0.3, 0.3);
  m.once_a = random() % 3 == 0 ? 0.02 : between(0.3, 4);
  m.twice_a = between(0.05, 2);
  m.commutation_a = std::exp(between(std::log(0.03), std::log(0.6)));
  m.uneven_a = m.commutation_a * between(0, 0.2);
  m.within_turn_rel = between(0, 0.02);
  m.stranger_a = random() % 2 == 0 ? between(0.05, 1) : 0;
  m.stranger_hz = between(40, 1000);
  m.noise_a = std::exp(between(std::log(0.05), std::log(8)));
  return m;
}

}  // namespace endgate::analysis::ripple_made

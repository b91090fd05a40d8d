#include "daemon/bench/drift.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace endgate::tests {
namespace {

using daemon::Drift;
using daemon::DriftWindow;

constexpr analysis::SteadyRule kRule{0, 2, 0.005};

analysis::ChannelFacts noisy(double sigma) {
  analysis::ChannelFacts facts;
  facts.noise_sigma_si = sigma;
  facts.noise_correlation_s = 0.2;
  return facts;
}

// 50 samples a second: level, relative slope per second, first-order correlated noise.
void fill(DriftWindow& window, double seconds, double slope, double sigma, unsigned seed = 1) {
  std::mt19937 random(seed);
  std::normal_distribution<double> white;
  const double phi = std::exp(-0.02 / 0.2);
  double noise = sigma * white(random);
  for (int i = 0; i <= std::lround(seconds * 50); ++i) {
    window.add(i * 20'000, 1 + slope * 0.02 * i + noise);
    noise = phi * noise + sigma * std::sqrt(1 - phi * phi) * white(random);
  }
}

TEST(DriftWindow, FindsTheDriftOfAStraightLine) {
  const auto facts = noisy(0);
  DriftWindow window(&facts);
  fill(window, 3, 0.01, 0);
  const Drift drift = window.drift(2).value();
  EXPECT_NEAR(drift.over_window, 0.02, 1e-12);
  EXPECT_NEAR(drift.level, 1.015, 1e-12);
  EXPECT_NEAR(drift.u, 0, 1e-9);
}

TEST(DriftWindow, KnowsHowWellItKnowsTheDrift) {
  const auto facts = noisy(0.01);
  double squares = 0, stated = 0;
  for (unsigned seed = 1; seed <= 300; ++seed) {
    DriftWindow window(&facts);
    fill(window, 3, 0, 0.01, seed);
    const Drift drift = window.drift(3).value();
    squares += drift.over_window * drift.over_window;
    stated += drift.u;
  }
  const double scatter = std::sqrt(squares / 300);
  EXPECT_NEAR(stated / 300 / scatter, 1, 0.25);
}

TEST(DriftWindow, IsSettledWhenOnlyNoiseIsLeft) {
  const auto facts = noisy(1e-4);
  DriftWindow window(&facts);
  fill(window, 3, 0, 1e-4);
  EXPECT_TRUE(window.settled(kRule));
}

TEST(DriftWindow, IsNotSettledWhileTheDriftMatters) {
  const auto facts = noisy(1e-4);
  DriftWindow window(&facts);
  fill(window, 3, 0.005, 1e-4);  // 1 % over the window, 0.5 % allowed
  EXPECT_FALSE(window.settled(kRule));
}

TEST(DriftWindow, NeedsAWholeWindow) {
  DriftWindow window(nullptr);
  EXPECT_FALSE(window.settled(kRule));
  fill(window, 1.9, 0, 0);
  EXPECT_FALSE(window.settled(kRule));
}

}  // namespace
}  // namespace endgate::tests

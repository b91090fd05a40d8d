#include "analysis/run_down.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace endgate::analysis {
namespace {

constexpr double kHold_v = 13.3;
constexpr double kEmf_v = 11.45;
constexpr double kFall_v_s = 47.5;
constexpr double kBend_v_s2 = 12;

// A voltage that falls as a parabola from the relay on, read by a first-order channel.
struct MadeRunDown {
  double opened_s = 0.0083;
  double lag_s = 0.01;
  double period_s = 0.016;
  double noise_v = 0;
  double fall_v_s = kFall_v_s;
  unsigned seed = 1;
};

double terminal_v(const MadeRunDown& made, double t) {
  if (t < made.opened_s) return kHold_v;
  const double since = t - made.opened_s;
  return std::max(0.0, kEmf_v - made.fall_v_s * since + kBend_v_s2 * since * since);
}

Column read_run_down(const MadeRunDown& made) {
  Column column;
  std::mt19937 random(made.seed);
  std::normal_distribution<double> noise(0, 1);
  const double inner_s = 1e-5;
  double reading = kHold_v;
  double wander = 0;
  const double phi = std::exp(-made.period_s / 0.02);
  int inner = 0;
  for (int i = -20; i < 40; ++i) {
    const double at = i * made.period_s;
    for (; - 20 * made.period_s + inner * inner_s < at; ++inner)
      reading += (terminal_v(made, -20 * made.period_s + inner * inner_s) - reading) * inner_s /
                 made.lag_s;
    wander = phi * wander + std::sqrt(1 - phi * phi) * noise(random);
    column.time_s.push_back(at);
    column.value.push_back(reading + made.noise_v * wander);
  }
  return column;
}

RunDownQuestion run_down_question(double stated_lag_s = 0.01) {
  return {-0.01, kHold_v, stated_lag_s, {0.005, 0.02, 0}};
}

TEST(RunDown, FindsTheBackEmfInTheMomentTheRelayOpened) {
  for (const double opened_s : {0.0, 0.004, 0.0083, 0.0155}) {
    const RunDown down = *run_down_of(read_run_down({.opened_s = opened_s}), run_down_question());
    EXPECT_NEAR(down.opened_s, opened_s, 2e-4);
    EXPECT_NEAR(down.back_emf_v / kEmf_v, 1, 2e-4) << opened_s;
    EXPECT_NEAR(down.fall_v_s / kFall_v_s, 1, 5e-3);
  }
}

// The lagged parabola stands C tau^2 above that of tau earlier: a thousandth of E here.
TEST(RunDown, ALongLagMovesTheBackEmfNowhere) {
  for (const double opened_s : {0.004, 0.0155}) {
    const MadeRunDown made{.opened_s = opened_s, .lag_s = 0.03, .fall_v_s = 40};
    const RunDown down = *run_down_of(read_run_down(made), run_down_question(0.03));
    EXPECT_NEAR(down.back_emf_v / kEmf_v, 1, 2e-4) << opened_s;
  }
}

TEST(RunDown, ALagThatIsStatedALittleWrongIsFound) {
  for (const double stated_s : {0.0095, 0.0105}) {
    const RunDown down = *run_down_of(read_run_down({}), run_down_question(stated_s));
    EXPECT_NEAR(down.back_emf_v / kEmf_v, 1, 1e-3) << stated_s;
  }
}

struct RelativeU {
  double back_emf = 0, fall = 0, inertia = 0;
};

// J goes as the square of the back-EMF over the fall.
RelativeU stated_relative_u(const RunDownNoise& noise) {
  const double e = noise.u_back_emf_v / kEmf_v, s = noise.u_fall_v_s / kFall_v_s;
  const double both = noise.covariance_v2_s / (kEmf_v * kFall_v_s);
  return {e, s, std::sqrt(4 * e * e + s * s - 4 * both)};
}

TEST(RunDown, ItsNoiseIsWhatManyRunDownsScatterBy) {
  constexpr int kRuns = 400;
  RelativeU square, stated;
  for (unsigned seed = 1; seed <= kRuns; ++seed) {
    const Column column = read_run_down({.noise_v = 0.005, .seed = seed});
    const RunDown down = *run_down_of(column, run_down_question());
    const RelativeU u = stated_relative_u(*run_down_noise(column, run_down_question()));
    const double e = down.back_emf_v / kEmf_v, s = down.fall_v_s / kFall_v_s;
    stated.back_emf += u.back_emf / kRuns;
    stated.fall += u.fall / kRuns;
    stated.inertia += u.inertia / kRuns;
    square.back_emf += std::pow(e - 1, 2) / kRuns;
    square.fall += std::pow(s - 1, 2) / kRuns;
    square.inertia += std::pow(e * e / s - 1, 2) / kRuns;
  }
  const auto agree = [](double squares, double u, const char* of) {
    EXPECT_LT(std::sqrt(squares), 1.25 * u) << of;
    EXPECT_GT(std::sqrt(squares), 0.7 * u) << of;
  };
  agree(square.back_emf, stated.back_emf, "back-EMF");
  agree(square.fall, stated.fall, "fall");
  agree(square.inertia, stated.inertia, "moment of inertia");
  EXPECT_LT(stated.back_emf, 0.004);
}

TEST(RunDown, RefusesAMotorThatStandsStillAtOnce) {
  const auto refused = run_down_of(read_run_down({.fall_v_s = 200}), run_down_question());
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().kind, RefusalKind::too_few_points);
}

TEST(RunDown, RefusesWhereTheVoltageNeverFalls) {
  const auto refused = run_down_of(read_run_down({.opened_s = 5}), run_down_question());
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().kind, RefusalKind::missing_step);
}

TEST(RunDown, RefusesAVoltageThatDoesNotFallAsARunDown) {
  Column column = read_run_down({});
  for (std::size_t i = 0; i < column.value.size(); ++i)
    if (column.time_s[i] > 0.03) column.value[i] += i % 2 == 0 ? 0.5 : -0.5;
  EXPECT_FALSE(run_down_of(column, run_down_question()));
}

}  // namespace
}  // namespace endgate::analysis

// Fill times against closed forms.

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "analysis/fill_time.h"

namespace endgate::analysis {
namespace {

// q = q0 (1 - p / p_d), as drawn: 64 points from 0 to 800 kPa.
std::vector<DrawnPoint> straight(double q0_m3_s, double dead_head_pa, double u_rel = 0) {
  std::vector<DrawnPoint> drawn;
  for (int i = 0; i < 64; ++i) {
    const double gauge = 800e3 * i / 63;
    const double flow = q0_m3_s * (1 - gauge / dead_head_pa);
    drawn.push_back({gauge, flow, u_rel * flow, false});
  }
  return drawn;
}

constexpr FillVessel kTyre{
    .volume_m3 = 0.120, .u_volume_rel = 0, .from_gauge_pa = 110316.12, .to_gauge_pa = 241316.51};

// t = (V / p_a) (p_d / q0) ln((p_d - p1) / (p_d - p2)) for a straight curve; computed apart.
TEST(FillTime, AgreesWithTheClosedFormOfAStraightCurve) {
  const auto time = fill_time(straight(160.0 / 60000, 1.2e6), kTyre, 101325);
  ASSERT_TRUE(time);
  EXPECT_NEAR(time->isothermal_s, 68.259802, 1e-5);
  EXPECT_NEAR(time->adiabatic_s, 68.259802 / 1.4, 1e-5);
}

TEST(FillTime, OfAConstantFlowIsTheFreeAirOverTheFlow) {
  const auto time = fill_time(straight(1e-3, 1e30), kTyre, 100000);
  ASSERT_TRUE(time);
  EXPECT_NEAR(time->isothermal_s, 0.120 / 1e5 * (241316.51 - 110316.12) / 1e-3, 1e-6);
}

// Common practice, no source: a vessel of a large tyre's volume from 110 to 240 kPa gauge in under
// two minutes by a two-cylinder unit of about 120 L/min; 80 L/min at 170 kPa is enough for it.
TEST(FillTime, OfALargeTyreByTwoCylindersIsBelowTwoMinutes) {
  const auto time = fill_time(straight(120.0 / 60000, 1.2e6), kTyre, 100000);
  ASSERT_TRUE(time);
  EXPECT_LT(time->isothermal_s, 120);
}

TEST(FillTime, CarriesTheUncertaintyOfCurveAndVolume) {
  FillVessel vessel = kTyre;
  vessel.u_volume_rel = 0.04;
  const auto time = fill_time(straight(2e-3, 1.2e6, 0.03), vessel, 100000);
  ASSERT_TRUE(time);
  EXPECT_NEAR(time->u_isothermal_s / time->isothermal_s, 0.05, 1e-4);  // 3 % and 4 % by squares
}

TEST(FillTime, RefusesWhatTheCurveDoesNotCover) {
  std::vector<DrawnPoint> drawn = straight(2e-3, 1.2e6);
  FillVessel vessel = kTyre;
  vessel.to_gauge_pa = 900e3;
  EXPECT_EQ(fill_time(drawn, vessel, 1e5).error().kind, RefusalKind::outside_fitted_range);
  drawn[12].extrapolated = true;  // about 152 kPa
  EXPECT_EQ(fill_time(drawn, kTyre, 1e5).error().kind, RefusalKind::outside_fitted_range);
  EXPECT_EQ(fill_time({}, kTyre, 1e5).error().kind, RefusalKind::outside_fitted_range);
}

TEST(FillTime, RefusesAUnitThatDeliversNothingThere) {
  EXPECT_EQ(fill_time(straight(2e-3, 150e3), kTyre, 1e5).error().kind,
            RefusalKind::value_out_of_domain);
  FillVessel falling = kTyre;
  falling.to_gauge_pa = falling.from_gauge_pa;
  EXPECT_EQ(fill_time(straight(2e-3, 1.2e6), falling, 1e5).error().kind,
            RefusalKind::value_out_of_domain);
}

}  // namespace
}  // namespace endgate::analysis

// Closed forms of filling and emptying a vessel, from mass balance and first law; numbers
// calculated from them for 5 L at 298.15 K and a rise of 20 kPa/s.

#include <gtest/gtest.h>

#include <cmath>

#include "fixtures/bench/physics/gas.h"
#include "fixtures/bench/physics/receiver.h"

namespace simbench {
namespace {

constexpr double kVolume = 5e-3;
constexpr double kRoom_k = 298.15;

Receiver vessel(double conductance_w_k, double pressure_pa = 600e3, double temperature_k = kRoom_k,
                double vapour = 0) {
  return Receiver({kVolume, conductance_w_k, 1e9, 0}, pressure_pa, temperature_k, vapour);
}

// Pa/s after the gas has found its balance.
double rise(Receiver& r, double kg_s, double settle_s) {
  const auto run = [&](double seconds) {
    for (int i = 0; i < static_cast<int>(seconds / 1e-4); ++i)
      r.step(1e-4, {kg_s, kRoom_k, 0}, 0, kRoom_k);
  };
  run(settle_s);
  const double before = r.pressure_abs_pa();
  run(0.1);
  return (r.pressure_abs_pa() - before) / 0.1;
}

TEST(Receiver, RisesAsAnAdiabaticVesselWhenTheWallTakesNoHeat) {
  Receiver r = vessel(0);
  EXPECT_NEAR(rise(r, 8.3460871e-4, 0), 20e3, 0.1);
}

TEST(Receiver, RisesAsAnIsothermalVesselWhenTheWallTakesAllHeat) {
  Receiver r = vessel(2000);
  EXPECT_NEAR(rise(r, 1.1684522e-3, 0.2), 20e3, 20);
}

TEST(Receiver, FillsAdiabaticallyToTheTemperatureOfTheFirstLaw) {
  Receiver r = vessel(0, 100e3);
  const double before = r.mass_kg();
  for (int i = 0; i < 20000; ++i) r.step(1e-3, {1e-3, 320, 0}, 0, kRoom_k);
  const double added = r.mass_kg() - before;
  EXPECT_NEAR(r.gas_k(), (before * kRoom_k + kGamma * added * 320) / r.mass_kg(), 1e-6);
}

TEST(Receiver, EmptiesAdiabaticallyAlongTheIsentrope) {
  Receiver r = vessel(0, 800e3);
  while (r.pressure_abs_pa() > 400e3) r.step(1e-4, {}, 5e-3, kRoom_k);
  EXPECT_NEAR(r.gas_k(), kRoom_k * std::pow(r.pressure_abs_pa() / 800e3, 0.4 / 1.4), 0.01);
}

TEST(Receiver, BooksTheHeatOfTheWall) {
  // Energy: what flowed in less what the wall took; wall capacity and rise tell the latter.
  Receiver r({kVolume, 2, 500, 0}, 600e3, kRoom_k, 0);
  const double before = r.energy_j(), wall = r.wall_k();
  for (int i = 0; i < 10000; ++i) r.step(1e-3, {1e-3, 330, 0}, 5e-4, kRoom_k);
  double out = 0;  // enthalpy that left: run again and count
  Receiver again({kVolume, 2, 500, 0}, 600e3, kRoom_k, 0);
  for (int i = 0; i < 10000; ++i) {
    out += 1e-3 * 5e-4 * kCpDry * again.gas_k();
    again.step(1e-3, {1e-3, 330, 0}, 5e-4, kRoom_k);
  }
  const double in = 10 * 1e-3 * kCpDry * 330;
  EXPECT_NEAR(r.energy_j() - before, in - out - 500 * (r.wall_k() - wall), 1e-6 * in);
}

TEST(Receiver, LosesPressureThroughALaminarLeakAsTheClosedFormSays) {
  // 5 L from 901325 Pa, dp/dt = -k (p^2 - pa^2) with the initial rate of a choked leak of
  // 2e-11 m3/(s Pa): 805136.77 Pa after 300 s (closed form equal to the differential equation).
  const double p0 = 901325, pa = 101325;
  const double k = p0 / 2507.1339 / (p0 * p0 - pa * pa);
  Receiver r = vessel(5000, p0, kReferenceTemperature);
  for (int i = 0; i < 300000; ++i) {
    const double out =
        leak_flow_kg_s(k * kVolume / kReferencePressure, r.pressure_abs_pa(), pa, r.gas_k());
    r.step(1e-3, {}, out, kReferenceTemperature);
  }
  EXPECT_NEAR(r.pressure_abs_pa(), 805136.77, 5);
}

TEST(Receiver, CollectsTheWaterThatCompressedRoomAirCannotHold) {
  // 100 L/min of 30 degC, 70 % air at 101325 Pa into 801325 Pa, 35 degC: humidity ratio
  // 0.018752778, 1.6233584 g/min of water (calculated).
  const double vapour = vapour_fraction(101325, 303.15, 0.7);
  EXPECT_NEAR(vapour / (1 - vapour), 0.018752778, 2e-8);
  const double flow = 1.8838771e-3 * 1.018752778;
  Receiver r = vessel(5000, 801325, 308.15);
  r.hold_wall(308.15);
  const auto run = [&](int steps) {
    for (int i = 0; i < steps; ++i) {
      const double out = r.mass_kg() * (r.pressure_abs_pa() - 801325) / 801325 / 0.01 + flow;
      r.step(1e-3, {flow, 308.15, vapour}, std::max(0.0, out), 308.15);
    }
  };
  run(180000);
  const double before = r.water_kg();
  run(60000);
  EXPECT_NEAR((r.water_kg() - before) * 1000, 1.6233584, 0.025);
}

TEST(Gas, FollowsTheEllipticLawBetweenChokedAndNoFlow) {
  EXPECT_DOUBLE_EQ(flow_factor(0.3), 1);
  EXPECT_NEAR(flow_factor(1), 0, 1e-12);
  // ISO 6358 shape: sqrt(1 - ((r - b)/(1 - b))^2).
  EXPECT_NEAR(flow_factor(0.8), std::sqrt(1 - std::pow((0.8 - 0.528) / 0.472, 2)), 1e-12);
  EXPECT_DOUBLE_EQ(opening_flow_kg_s(1e-6, 1e5, 2e5, 293.15), 0);
}

TEST(Gas, SaturatesAsPublished) {
  EXPECT_NEAR(saturation_pressure_pa(293.15), 2333.4406, 1e-3);  // Magnus, Alduchov-Eskridge 1996
}

}  // namespace
}  // namespace simbench

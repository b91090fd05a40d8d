#include <gtest/gtest.h>

#include "analysis/flow_state.h"
#include "analysis/moist_air.h"
#include "tests/analysis/measure_published.h"

namespace endgate::analysis {
namespace {

using published::number;
using published::numbers;

double relative(double value, double truth) { return value / truth - 1; }

TEST(MoistAir, SaturationPressureReproducesTheTableOfIapws) {
  const std::vector<double> temperature = numbers("saturation.temperature_k");
  const std::vector<double> pressure = numbers("saturation.pressure_pa");
  for (std::size_t i = 0; i < temperature.size(); ++i)
    EXPECT_NEAR(relative(saturation_pressure_pa(temperature[i]), pressure[i]), 0, 3e-9);
}

TEST(MoistAir, DryDensityIsThatOfTheStandardAtmosphere) {
  EXPECT_NEAR(
      dry_density_kg_m3({number("dry_density.pressure_pa"), number("dry_density.temperature_k")}),
      number("dry_density.density_kg_m3"), 3e-5);
}

TEST(MoistAir, ALitreOfOneStandardIsNotALitreOfAnother) {
  const double ratio = dry_density_kg_m3({100000, 293.15}) / dry_density_kg_m3({101325, 273.15});
  EXPECT_NEAR(relative(100 * ratio, number("litre_of_two_standards.value")), 0, 1e-7);
}

TEST(MoistAir, DryMassGivesBackTheFreeAirOfItsInlet) {
  const AirState inlet{98500, 300.15, 0.6};
  EXPECT_NEAR(relative(humidity_ratio(inlet), number("free_air.humidity_ratio")), 0, 3e-3);
  EXPECT_NEAR(relative(free_air(DryMass(number("free_air.dry_kg_s")), inlet).si(), 60.0 / 60000), 0,
              1e-4);
}

TEST(MoistAir, ImpossibleReadingsGiveFiniteNumbers) {
  for (const AirState air : {AirState{0, 0, 0}, AirState{-1e9, 1e9, 7}, AirState{1, 640, 1}})
    EXPECT_TRUE(std::isfinite(humidity_ratio(air)));
}

}  // namespace
}  // namespace endgate::analysis

#include <gtest/gtest.h>

#include <cmath>

#include "analysis/bench_check.h"
#include "tests/analysis/measure_published.h"

namespace endgate::analysis {
namespace {

NozzleReading published_nozzle() {
  return {.throat_diameter_m = 1e-3,
          .upstream_abs_pa = 500000,
          .downstream_abs_pa = 101325,
          .upstream_k = 293.15,
          .real_gas = false};
}

constexpr DryReference kReference{.pressure_abs_pa = 100000, .temperature_k = 293.15};

TEST(CriticalNozzle, PassesThePublishedFlow) {
  const NozzleFlow flow = nozzle_flow(published_nozzle()).value();
  EXPECT_NEAR(flow.mass_kg_s / published::number("critical_nozzle.mass_kg_s"), 1, 3e-6);
  EXPECT_NEAR(flow.discharge_coefficient,
              published::number("critical_nozzle.discharge_coefficient"), 1e-6);
  EXPECT_NEAR(flow.reynolds / published::number("critical_nozzle.reynolds"), 1, 1e-4);
  EXPECT_NEAR(60000 * flow.mass_kg_s / dry_density_kg_m3(kReference),
              published::number("critical_nozzle.free_air_l_min"), 0.0003);
}

TEST(CriticalNozzle, RealAirAddsWhatTheVirialIsentropeAdds) {
  const auto pressures = published::numbers("critical_nozzle.critical_flow_real_pressure_pa");
  const auto wanted = published::numbers("critical_nozzle.critical_flow_real");
  for (std::size_t i = 0; i < pressures.size(); ++i)
    EXPECT_NEAR(kCriticalFlowFunction * (1 + kRealGas_per_pa * pressures[i]), wanted[i], 0.0003);
}

TEST(CriticalNozzle, MoistAirIsLighterAndPassesLess) {
  NozzleReading moist = published_nozzle();
  moist.effective_area_m2 = 7.7e-7;
  const double dry_flow = nozzle_flow(moist).value().mass_kg_s;
  moist.humidity_ratio = 0.62196 * 0.01 / (1 - 0.01);  // 1 % of the molecules are water
  // sqrt(M_moist / M_dry), computed twice.
  EXPECT_NEAR(nozzle_flow(moist).value().mass_kg_s / dry_flow, 0.9981080, 2e-6);
}

TEST(CriticalNozzle, IsRefusedWhenItIsNotChoked) {
  NozzleReading reading = published_nozzle();
  reading.downstream_abs_pa = 250000;  // the bound itself is choked
  EXPECT_TRUE(nozzle_flow(reading));
  reading.downstream_abs_pa = 250001;
  EXPECT_NE(nozzle_flow(reading).error().detail.find("not choked"), std::string::npos);
  reading.downstream_abs_pa = 101325;
  reading.throat_diameter_m = 0;
  EXPECT_FALSE(nozzle_flow(reading));
}

TEST(CriticalNozzle, ACalibratedAreaNeedsNoFormula) {
  NozzleReading reading = published_nozzle();
  const NozzleFlow by_formula = nozzle_flow(reading).value();
  reading.effective_area_m2 = by_formula.discharge_coefficient * 7.853981633974483e-7;
  const NozzleFlow by_area = nozzle_flow(reading).value();
  EXPECT_NEAR(by_area.mass_kg_s / by_formula.mass_kg_s, 1, 1e-12);
  EXPECT_LT(by_area.u_rel, by_formula.u_rel) << "the formula's own u is not in it";
}

TEST(MeterCheck, AMeterThatReadsTheNozzlesFlowIsInControlAndOneOffByMoreIsNot) {
  NozzleReading nozzle = published_nozzle();
  nozzle.u_area_rel = 0.001;
  const DryReference normal{.pressure_abs_pa = 101325, .temperature_k = 273.15};
  const double right = nozzle_flow(nozzle).value().mass_kg_s / dry_density_kg_m3(normal);
  MeterReading meter{.flow = StandardFlow(right), .u_flow_rel = 0.004, .reference = normal};
  const CheckResult good = check_meter(nozzle, meter).value();
  EXPECT_TRUE(good.in_control);
  EXPECT_NEAR(good.measured, good.expected, 1e-12);
  meter.flow = StandardFlow(1.02 * right);
  EXPECT_FALSE(check_meter(nozzle, meter).value().in_control);
}

TEST(VolumeCheck, GivesThePublishedExpansion_BC1) {
  const Expansion expansion{.reference_volume_m3 = 1e-3,
                            .reference_abs_pa = 600000,
                            .receiver_abs_pa = 100000,
                            .final_abs_pa = 183100,
                            .u_pressure_pa = 50};
  const CheckResult result = check_volume(expansion, {.volume_m3 = 5e-3, .u_rel = 0.005}).value();
  EXPECT_NEAR(result.measured / published::number("gas_expansion.volume_m3"), 1, 1e-7);
  // u by differences of 50 Pa in each pressure.
  double square = 0;
  for (double Expansion::*pressure :
       {&Expansion::reference_abs_pa, &Expansion::receiver_abs_pa, &Expansion::final_abs_pa}) {
    Expansion moved = expansion;
    moved.*pressure += 50;
    square += std::pow(check_volume(moved, {5e-3, 0.005}).value().measured - result.measured, 2);
  }
  EXPECT_NEAR(result.u_measured / std::sqrt(square), 1, 0.002);
}

TEST(LeakCheck, IsThePressureLostAtOneTemperature) {
  // 500 cm3 losing 120 Pa in 10 s at 20 degC: 0.5e-3 * 120 / 1e5 / 10 m3/s at 100 kPa, 20 degC.
  LeakDwell dwell{.volume_m3 = 0.5e-3,
                  .start_abs_pa = 700000,
                  .end_abs_pa = 699880,
                  .u_pressure_pa = 20,
                  .start_k = 293.15,
                  .end_k = 293.15,
                  .u_temperature_k = 0,
                  .seconds = 10};
  EXPECT_NEAR(check_leak(dwell, {6e-8, 1e-9}, kReference).value().measured, 6e-8, 1e-14);
  dwell.end_k = 293.05;  // cooling by 0.1 K explains 239 Pa: more than all of it
  EXPECT_LT(check_leak(dwell, {0, 1e-9}, kReference).value().measured, 0);
}

TEST(BenchCheck, TheBoundItselfIsInControl_BC2) {
  EXPECT_TRUE(held_against(10, 0.3, 11.5, 0.4).in_control);
  EXPECT_FALSE(held_against(10, 0.3, 11.5001, 0.4).in_control);
  EXPECT_FALSE(held_against(10, 0, 10, 0).in_control);
}

TEST(BenchCheck, AReadingOutsideItsDomainIsNamed_BC3) {
  EXPECT_NE(check_leak({}, {}, kReference).error().detail.find("time"), std::string::npos);
  EXPECT_NE(check_volume({.reference_volume_m3 = 1,
                          .reference_abs_pa = 2,
                          .receiver_abs_pa = 1,
                          .final_abs_pa = 3},
                         {})
                .error()
                .detail.find("final pressure"),
            std::string::npos);
}

}  // namespace
}  // namespace endgate::analysis

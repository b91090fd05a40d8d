// Closed forms: piston compressor indicator diagram with clearance, standard handbook derivation
// (from memory), evaluated here.  Sizes of the worked unit: bore 39, stroke 16.2 mm, 3000/min.

#include <gtest/gtest.h>

#include <cmath>

#include "fixtures/bench/physics/cylinder.h"
#include "fixtures/bench/physics/gas.h"
#include "fixtures/bench/physics/pump.h"

namespace simbench {
namespace {

CylinderDesign real_cylinder() { return nominal_design(Model::p1_60_12).cylinder; }

// No leak, no valve loss, no heat.
CylinderDesign ideal_cylinder() {
  CylinderDesign d = real_cylinder();
  d.clearance_ratio = 0.05;
  d.suction_area_m2 = d.discharge_area_m2 = 3e-4;
  d.suction_crack_pa = d.discharge_crack_pa = 50;
  d.suction_ramp_pa = d.discharge_ramp_pa = 500;
  d.ring_leak_m3_s_pa2 = d.discharge_reed_leak_m3_s_pa2 = 0;
  d.wall_coefficient_w_m2_k = 0;
  d.suction_heating_share = 0;
  return d;
}

CylinderSurroundings at_gauge(double gauge_pa) {
  CylinderSurroundings a;
  a.room_pa = 101325;
  a.head_pressure_pa = 101325 + gauge_pa;
  a.speed_rev_s = 50;
  return a;
}

TEST(Cylinder, SweepsTheVolumeOfBoreAndStroke) {
  const double swept = Cylinder(real_cylinder()).swept_volume_m3();
  EXPECT_NEAR(swept, 1.9352368e-5, 1e-12);  // pi/4 bore^2 stroke
  EXPECT_NEAR(swept * 50 * 60000, 58.057103, 1e-6);
}

TEST(Cylinder, ConservesMassAndEnergyOverACycle) {
  for (double gauge : {0.0, 2e5, 6e5, 1.1e6}) {
    CylinderSurroundings around = at_gauge(gauge);
    around.head_k = 330;
    const Cycle c = Cylinder(real_cylinder()).periodic(around);
    const double mass = c.suction_kg - c.discharge_kg + c.reed_back_kg - c.ring_kg;
    const double energy = c.enthalpy_in_j - c.enthalpy_out_j + c.work_j - c.heat_j;
    EXPECT_NEAR(mass, c.end.mass_kg - c.begin.mass_kg, 1e-12 * c.suction_kg);
    EXPECT_NEAR(energy, c.end.energy_j - c.begin.energy_j, 1e-11 * c.enthalpy_in_j);
    // And the cycle is closed.
    EXPECT_NEAR(mass, 0, 1e-6 * c.suction_kg);
    EXPECT_NEAR(energy, 0, 1e-6 * c.enthalpy_in_j);
  }
}

TEST(Cylinder, WithoutHeatAndLossesGivesTheIsentropicDiagram) {
  const Cylinder cylinder(ideal_cylinder(), 720);
  const double swept = cylinder.swept_volume_m3();
  for (double gauge : {2e5, 4e5, 8e5}) {
    const Cycle c = cylinder.periodic(at_gauge(gauge));
    const double r = 1 + gauge / 101325;
    const double efficiency = 1.05 - 0.05 * std::pow(r, 1 / 1.4);
    const double mass = efficiency * swept * 101325 / (kGasDry * 293.15);
    const double work = 3.5 * 101325 * swept * efficiency * (std::pow(r, 0.4 / 1.4) - 1);
    EXPECT_NEAR(c.delivered_kg() / mass, 1, 4e-3) << gauge;
    EXPECT_NEAR(c.work_j / work, 1, 6e-3) << gauge;
    const double discharge_k = c.discharge_enthalpy_j / (kCpDry * c.discharge_kg);
    EXPECT_NEAR(discharge_k, 293.15 * std::pow(r, 0.4 / 1.4), 2.0) << gauge;
  }
}

TEST(Cylinder, WithAWallThatHoldsTheGasColdGivesTheIsothermalDiagram) {
  CylinderDesign design = ideal_cylinder();
  design.wall_coefficient_w_m2_k = 1e5;
  design.suction_area_m2 = design.discharge_area_m2 = 6e-5;
  const Cylinder cylinder(design, 2880);
  for (double gauge : {2e5, 4e5, 8e5}) {
    CylinderSurroundings slow = at_gauge(gauge);
    slow.speed_rev_s = 5;  // leaves time for the heat
    const Cycle c = cylinder.periodic(slow);
    const double r = 1 + gauge / 101325;
    const double efficiency = 1.05 - 0.05 * r;
    const double mass = efficiency * cylinder.swept_volume_m3() * 101325 / (kGasDry * 293.15);
    const double work = 101325 * cylinder.swept_volume_m3() * efficiency * std::log(r);
    EXPECT_NEAR(c.delivered_kg() / mass, 1, 6e-3) << gauge;
    EXPECT_NEAR(c.work_j / work, 1, 8e-3) << gauge;
  }
}

TEST(Cylinder, HalvingTheStepMovesFlowAndTorqueByLessThanThreeInTenThousand) {
  const CylinderSurroundings around = at_gauge(6e5);
  const Cycle coarse = Cylinder(real_cylinder()).periodic(around);
  const Cycle fine = Cylinder(real_cylinder(), 2 * Cylinder::kSteps).periodic(around);
  EXPECT_NEAR(coarse.delivered_kg() / fine.delivered_kg(), 1, 3e-4);
  EXPECT_NEAR(coarse.mean_torque_nm / fine.mean_torque_nm, 1, 3e-4);
}

TEST(Cylinder, ReachesTheSameCycleFromAnyBeginning) {
  const Cylinder cylinder(real_cylinder());
  const Cycle plain = cylinder.periodic(at_gauge(8e5));
  const Cycle other = cylinder.periodic(at_gauge(8e5), CycleGuess{{4e-5, 9.0}, 90e3});
  EXPECT_NEAR(other.delivered_kg() / plain.delivered_kg(), 1, 2e-6);
}

TEST(Cylinder, DeliversLessThroughABlockedFilter) {
  CylinderSurroundings around = at_gauge(2e5);
  const double open = Cylinder(real_cylinder()).periodic(around).delivered_kg();
  around.filter_pa_s2_m6 = 10e3 / std::pow(55.0 / 60000, 2);
  const Cycle blocked = Cylinder(real_cylinder()).periodic(around);
  EXPECT_LT(blocked.delivered_kg(), 0.96 * open);
  // The drop belongs to the flow that causes it.
  const double flow = blocked.suction_kg * 50 / (101325 / (kGasDry * 293.15));
  EXPECT_NEAR(101325 - blocked.suction_pressure_pa, around.filter_pa_s2_m6 * flow * flow, 1);
}

}  // namespace
}  // namespace simbench

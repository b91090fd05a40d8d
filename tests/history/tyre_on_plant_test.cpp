// Does the two-cylinder model fill a large tyre in the time that people expect of one?

#include <gtest/gtest.h>

#include "analysis/fill_time.h"
#include "fixtures/history/campaign.h"
#include "tests/history/loaded_scenario.h"

namespace endgate::history {
namespace {

// Common practice, no source: a vessel of a large tyre's volume from 110 to 240 kPa gauge in under two
// minutes.  From the curve that the whole test gave, at its upper end of uncertainty, and with the
// tyre giving off all its heat, which takes longest.
TEST(TyreOnPlant, IsFilledByTheTwoCylinderModelInUnderTwoMinutes) {
  constexpr analysis::FillVessel kTyre{
      .volume_m3 = 0.120, .u_volume_rel = 0.05, .from_gauge_pa = 110e3, .to_gauge_pa = 240e3};
  CampaignOptions options;
  options.units = 3;
  options.models = {"P2-120-24"};
  options.fresh_bench = true;
  for (const TestedUnit& unit : run_campaign(scenario(), options)) {
    const auto time = analysis::fill_time(unit.evaluation.drawn, kTyre, 100000);
    ASSERT_TRUE(time) << time.error().detail;
    EXPECT_LT(time->isothermal_s + 2 * time->u_isothermal_s, 120) << unit.serial;
    // 156 L of free air between the rates that are true at 0 and at 200 kPa, and a little beyond.
    EXPECT_GT(time->isothermal_s, 0.156 / unit.truth.at("fad_0"));
    EXPECT_LT(time->isothermal_s, 0.156 / (0.95 * unit.truth.at("fad_200")));
  }
}

}  // namespace
}  // namespace endgate::history

#include "daemon/exchange/export_results.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <sstream>

#include "daemon/exchange/read_results.h"
#include "tests/queries/small_store.h"
#include "tests/support/entered_facts.h"

namespace endgate::daemon {
namespace {

using nlohmann::json;
using testing::HasSubstr;

std::string exported(const test::SmallStore& store, TableForm form, ResultUnits units,
                     const ResultsAsked& asked = {}) {
  std::ostringstream out;
  ResultWriter writer(form, units, out);
  export_results(schema::StoreReader(store.folder()), asked, writer);
  return out.str();
}

std::vector<json> objects_of(const std::string& text) {
  std::vector<json> objects;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) objects.push_back(json::parse(line));
  return objects;
}

// The whole table, as it must stay: programs of others read it.
TEST(ExportResults, AreOneRowPerTestWithUnitsInTheHead) {
  test::SmallStore store;
  store.keep({.serial = "QH2648-0001-A"});
  store.keep({.serial = "QH2648-0002-B", .verdict = "fail", .standing = "reject"});
  EXPECT_EQ(
      exported(store, TableForm::csv, ResultUnits::as_shown),
      "position,origin,source,serial,attempt,model,bench,batch,purpose,start,cycle_s,verdict,"
      "standing,reasons,likely_cause,extrapolated,fad_0 [L/min],fad_0.u [L/min],fad_200 [L/min],"
      "fad_200.u [L/min],fad_400 [L/min],fad_400.u [L/min],fad_600 [L/min],fad_600.u [L/min],"
      "fad_800 [L/min],fad_800.u [L/min],current_600 [A],current_600.u [A],speed_600 [r/min],"
      "speed_600.u [r/min],volumetric_efficiency_400 [%],volumetric_efficiency_400.u [%],"
      "specific_energy_400 [J/L],specific_energy_400.u [J/L],dead_head [kPa gauge],"
      "dead_head.u [kPa gauge],back_leak [cm3/min],back_leak.u [cm3/min],seal_leak [cm3/min],"
      "seal_leak.u [cm3/min],ripple_speed_400 [r/min],ripple_speed_400.u [r/min],"
      "ripple_lock_400 [%],ripple_lock_400.u [%],cylinder_imbalance_400 [%],"
      "cylinder_imbalance_400.u [%],commutator_irregularity_400 [%],"
      "commutator_irregularity_400.u [%],duty_peak_head [\u00B0C],"
      "duty_peak_head.u [\u00B0C],duty_peak_case [\u00B0C],duty_peak_case.u [\u00B0C],"
      "longest_on [min],longest_on.u [min],duty_factor [%],duty_factor.u [%],duty_cycle [min],"
      "duty_cycle.u [min],back_leak_service [cm3/min],back_leak_service.u [cm3/min]"
      ",seal_leak_service [cm3/min],seal_leak_service.u [cm3/min]"
      ",machine_constant [mV s/rad],machine_constant.u [mV s/rad]"
      ",winding_resistance [mohm],winding_resistance.u [mohm],brush_drop [V]"
      ",brush_drop.u [V],moment_of_inertia [kg cm2],moment_of_inertia.u [kg cm2]"
      ",torque_0 [N m],torque_0.u [N m],motor_efficiency_600 [%]"
      ",motor_efficiency_600.u [%],isothermal_efficiency_400 [%]"
      ",isothermal_efficiency_400.u [%]\r\n"
      "3,measured,,QH2648-0001-A,1,P1-60-12,north,B-2648,production,2026-11-18T11:06:40.000Z,71.4,"
      "pass,release,,,,,,,,54,0.54"
      ",,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,\r\n"
      "5,measured,,QH2648-0002-B,1,P1-60-12,north,B-2648,production,2026-11-18T11:06:40.000Z,71.4,"
      "fail,reject,below_lower fad_400,,,,,,,54,0.54"
      ",,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,\r\n");
}

TEST(ExportResults, AsJsonLinesSayTheSameWithNullForWhatIsMissing) {
  test::SmallStore store;
  store.keep({.serial = "QH2648-0001-A"});
  const auto objects = objects_of(exported(store, TableForm::json_lines, ResultUnits::as_shown));
  ASSERT_EQ(objects.size(), 1U);
  EXPECT_EQ(objects[0].at("fad_400 [L/min]"), 54);
  EXPECT_EQ(objects[0].at("position"), 3);
  EXPECT_TRUE(objects[0].at("dead_head [kPa gauge]").is_null());
  EXPECT_TRUE(objects[0].at("likely_cause").is_null());
  EXPECT_EQ(objects[0].size(), 76U);
}

TEST(ExportResults, InSiReadBackAsTheyAreKept) {
  test::SmallStore store;
  store.keep({.serial = "QH2648-0001-A", .fad_400 = 1.0 / 1111});
  for (const TableForm form : {TableForm::csv, TableForm::json_lines}) {
    const ResultsRead read = read_results(exported(store, form, ResultUnits::si), form);
    ASSERT_EQ(read.tests.size(), 1U);
    ASSERT_EQ(read.tests[0].metrics.size(), 1U) << "a missing metric stays missing";
    EXPECT_EQ(read.tests[0].metrics[0].value, 1.0 / 1111);
    EXPECT_EQ(read.tests[0].cycle_s, 71.4);
    EXPECT_EQ(read.tests[0].tested_utc_ms, test::kNovember2026);
  }
}

TEST(ExportResults, AreChosenByWhatIsAskedAndByPosition) {
  test::SmallStore store;
  store.keep({.serial = "A"});
  store.keep({.serial = "A", .attempt = 2});
  const auto rows = [&](const ResultsAsked& asked) {
    return objects_of(exported(store, TableForm::json_lines, ResultUnits::si, asked)).size();
  };
  EXPECT_EQ(rows({}), 2U);
  EXPECT_EQ(rows({.purpose = "retest"}), 1U);
  EXPECT_EQ(rows({.model = "P2-120-24"}), 0U);
  EXPECT_EQ(rows({.since_utc_ms = test::kNovember2026 + 1}), 0U);
  EXPECT_EQ(rows({.before_utc_ms = test::kNovember2026}), 0U);
  EXPECT_EQ(rows({.behind = 3}), 1U);
  EXPECT_EQ(rows({.most = 1}), 1U);
}

TEST(ExportResults, HoldEitherOurTestsOrImportedOnes) {
  test::SmallStore store;
  store.keep({.serial = "A"});
  store.enter(std::vector{test::made_import(2)});
  const std::string ours = exported(store, TableForm::csv, ResultUnits::si);
  const std::string imported = exported(store, TableForm::csv, ResultUnits::si, {.imported = true});
  EXPECT_EQ(ours.find("OLD-0042"), std::string::npos);
  EXPECT_THAT(imported, HasSubstr("imported,paper book 2019,OLD-0042"));
  EXPECT_EQ(imported.find("measured"), std::string::npos);
}

}  // namespace
}  // namespace endgate::daemon

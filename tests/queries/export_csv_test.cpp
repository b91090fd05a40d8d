#include "daemon/queries/export_csv.h"

#include <gtest/gtest.h>

#include <sstream>

#include "tests/queries/small_store.h"

namespace endgate::daemon {
namespace {

std::string exported(const test::SmallStore& store, CsvUnits units) {
  std::ostringstream out;
  export_csv(schema::StoreReader(store.folder()), units, out);
  return out.str();
}

std::string line_of(const std::string& table, std::size_t number) {
  std::istringstream in(table);
  std::string line;
  for (std::size_t i = 0; i <= number; ++i) std::getline(in, line);
  return line;
}

// The whole table, as it must stay: programs of others read it.
TEST(ExportCsv, IsOneRowPerTestWithUnitsInTheHead) {
  test::SmallStore store;
  store.keep({.serial = "QH2648-0001-A"});
  store.keep({.serial = "QH2648-0002-B", .verdict = "fail", .standing = "reject"});
  EXPECT_EQ(exported(store, CsvUnits::as_shown),
            "serial,attempt,model,bench,batch,purpose,start,cycle_s,verdict,standing,reasons,"
            "likely_cause,fad_0 [L/min],fad_0.u [L/min],fad_200 [L/min],fad_200.u [L/min],"
            "fad_400 [L/min],fad_400.u [L/min],fad_600 [L/min],fad_600.u [L/min],fad_800 [L/min],"
            "fad_800.u [L/min],current_600 [A],current_600.u [A],speed_600 [r/min],"
            "speed_600.u [r/min],volumetric_efficiency_400 [%],volumetric_efficiency_400.u [%],"
            "specific_energy_400 [J/L],specific_energy_400.u [J/L],dead_head [kPa gauge],"
            "dead_head.u [kPa gauge],back_leak [cm3/min],back_leak.u [cm3/min],"
            "seal_leak [cm3/min],seal_leak.u [cm3/min]\r\n"
            "QH2648-0001-A,1,P1-60-12,north,B-2648,production,2026-11-18T11:06:40.000Z,71.4,pass,"
            "release,,,,,,,54,0.54,,,,,,,,,,,,,,,,,,\r\n"
            "QH2648-0002-B,1,P1-60-12,north,B-2648,production,2026-11-18T11:06:40.000Z,71.4,fail,"
            "reject,below_lower fad_400,,,,,,54,0.54,,,,,,,,,,,,,,,,,,\r\n");
}

TEST(ExportCsv, InSiEveryNumberReadsBackAsItIsKept) {
  test::SmallStore store;
  store.keep({.serial = "QH2648-0001-A", .fad_400 = 1.0 / 1111});
  const std::string table = exported(store, CsvUnits::si);
  EXPECT_NE(line_of(table, 0).find("fad_400 [m3/s],fad_400.u [m3/s]"), std::string::npos);
  const std::string row = line_of(table, 1);
  std::istringstream fields(row);
  std::string field;
  for (int i = 0; i < 17; ++i) std::getline(fields, field, ',');
  EXPECT_EQ(std::stod(field), 1.0 / 1111);
}

TEST(ExportCsv, AMissingMetricIsAnEmptyField) {
  test::SmallStore store;
  store.keep({.serial = "QH2648-0001-A", .verdict = "void", .standing = "hold"});
  EXPECT_NE(exported(store, CsvUnits::si).find("void,hold,,,,,,,,,,,,,,,,,,,,,,,,,,\r\n"),
            std::string::npos);
}

}  // namespace
}  // namespace endgate::daemon

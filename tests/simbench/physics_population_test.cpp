#include <gtest/gtest.h>

#include <cmath>
#include <set>

#include "fixtures/bench/physics/population.h"
#include "fixtures/bench/physics/truth.h"

namespace simbench {
namespace {

TEST(Population, GivesTheSameUnitForTheSameSeedAndSerial) {
  const std::string serial = make_serial("2648", 117);
  const auto a = truth_of(Population(7).unit(serial)).metrics;
  EXPECT_EQ(a, truth_of(Population(7).unit(serial)).metrics);
  EXPECT_NE(a, truth_of(Population(8).unit(serial)).metrics);
  EXPECT_NE(a, truth_of(Population(7).unit(make_serial("2648", 118))).metrics);
}

TEST(Population, ReadsTheModelFromTheSerial) {
  EXPECT_EQ(model_of_serial(make_serial("2648", 117)), Model::p1_60_12);
  EXPECT_EQ(model_of_serial(make_serial("2648", 1117)), Model::p1_20_12);
  EXPECT_EQ(model_of_serial(make_serial("2648", 2117)), Model::p1_60_24);
  EXPECT_EQ(model_of_serial(make_serial("2648", 3117)), Model::p2_120_24);
  for (const char* wrong : {"", "QH2648-4117-X", "XX2648-0117-X", "QH26480117", "QH26a8-0117-X"})
    EXPECT_EQ(model_of_serial(wrong), std::nullopt) << wrong;
}

TEST(Population, MakesTheCheckCharacterOfIso7064) {
  // A1-2425G-ABC1234002-M, the example of a published identifier scheme (from memory).
  EXPECT_EQ(serial_check_character("A12425GABC1234002"), 'M');
  const std::string serial = make_serial("2648", 117);
  EXPECT_EQ(serial.substr(0, 12), "QH2648-0117-");
  EXPECT_EQ(serial.back(), serial_check_character("QH26480117"));
}

TEST(Population, ScattersHealthyUnitsByAboutOneAndAHalfPercent) {
  const Population population(3, {.fault_rate = 0});
  double sum = 0, squares = 0;
  constexpr int kUnits = 60;
  const double nominal = truth_of(nominal_design(Model::p1_60_12)).metrics.at("fad_400");
  for (int i = 0; i < kUnits; ++i) {
    const std::string serial = make_serial(std::to_string(2601 + i), 10 * i);
    const double x = truth_of(population.unit(serial)).metrics.at("fad_400") / nominal - 1;
    sum += x;
    squares += x * x;
  }
  const double mean = sum / kUnits, sd = std::sqrt(squares / kUnits - mean * mean);
  EXPECT_LT(std::abs(mean), 0.006);
  EXPECT_GT(sd, 0.008);
  EXPECT_LT(sd, 0.022);
}

TEST(Population, SharesAMeanWithinABatchAndALot) {
  // Winding resistances of one motor lot lie closer together than those of many lots.
  const Population population(5, {.fault_rate = 0});
  const auto spread = [&](bool same_batch) {
    double sum = 0, squares = 0;
    for (int i = 0; i < 100; ++i) {
      const std::string batch = same_batch ? "2630" : std::to_string(2600 + i);
      const double r =
          population.unit(make_serial(batch, 1 + i)).motor.winding_resistance_20_ohm / 0.06;
      sum += r;
      squares += r * r;
    }
    return squares / 100 - sum * sum / 10000;
  };
  EXPECT_LT(spread(true), 0.85 * spread(false));
}

TEST(Population, BuildsFaultsInAtTheAskedRate) {
  const Population population(11, {.fault_rate = 0.2, .severity_min = 0.4});
  int faulty = 0;
  std::set<Fault> kinds;
  for (int i = 0; i < 2000; ++i) {
    const UnitDesign unit = population.unit(make_serial("2648", 2000 + i));
    if (!unit.fault) continue;
    ++faulty;
    kinds.insert(*unit.fault);
    EXPECT_GE(unit.fault_severity, 0.4);
    EXPECT_LE(unit.fault_severity, 1);
  }
  EXPECT_NEAR(faulty, 400, 60);
  EXPECT_EQ(kinds.size(), kFaultCount);
}

TEST(Population, NamesTheLotsOfAUnit) {
  const PartsLots lots = lots_of(make_serial("2648", 117)).value();
  EXPECT_EQ(lots.batch, "2648");
  EXPECT_EQ(lots.motor, "M-2648-00");
  EXPECT_NE(lots_of(make_serial("2648", 400)).value().motor, lots.motor);
}

}  // namespace
}  // namespace simbench

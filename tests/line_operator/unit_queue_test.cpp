// Which units the scripted operator takes off the line.

#include "fixtures/demo/unit_queue.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <set>

#include "daemon/definitions/serial.h"
#include "fixtures/bench/physics/population.h"

namespace line_operator {
namespace {

std::vector<NextUnit> take(UnitQueue& queue, int count) {
  std::vector<NextUnit> units;
  for (int i = 0; i < count; ++i) units.push_back(queue.next().value());
  return units;
}

TEST(UnitQueue, GivesEachSerialOnceWithAValidCheckCharacter) {
  UnitQueue queue({.seed = 5});
  std::set<std::string> seen;
  for (const NextUnit& unit : take(queue, 5000)) {
    EXPECT_TRUE(seen.insert(unit.serial).second) << unit.serial;
    const std::string body = unit.serial.substr(0, unit.serial.size() - 1);
    EXPECT_EQ(endgate::daemon::check_character(body), unit.serial.back()) << unit.serial;
  }
}

TEST(UnitQueue, MixesAllModels) {
  UnitQueue queue({.seed = 5});
  std::map<simbench::Model, int> count;
  for (const NextUnit& unit : take(queue, 1000))
    ++count[simbench::model_of_serial(unit.serial).value()];
  ASSERT_EQ(count.size(), 4U);
  for (const auto& [model, units] : count) EXPECT_GT(units, 100) << simbench::name_of(model);
}

TEST(UnitQueue, ForcesFaultsInTheStatedShareThatFitTheModel) {
  UnitQueue queue({.seed = 5, .fault_share = 0.3});
  int faults = 0;
  for (const NextUnit& unit : take(queue, 2000)) {
    if (!unit.fault) continue;
    ++faults;
    const simbench::Fault fault = simbench::fault_of(unit.fault->name).value();
    const bool twin_only = simbench::kFaults[static_cast<std::size_t>(fault)].twin_only;
    EXPECT_TRUE(!twin_only || simbench::model_of_serial(unit.serial) == simbench::Model::p2_120_24);
    EXPECT_GE(unit.fault->severity, 0.6);
    EXPECT_LE(unit.fault->severity, 1.0);
  }
  EXPECT_NEAR(faults / 2000.0, 0.3, 0.04);  // four deviations
}

TEST(UnitQueue, IsTheSameForTheSameSeed) {
  const auto serials = [](std::uint64_t seed) {
    UnitQueue queue({.seed = seed});
    std::string all;
    for (const NextUnit& unit : take(queue, 20))
      all += unit.serial + (unit.fault ? std::string(unit.fault->name) : "-");
    return all;
  };
  EXPECT_EQ(serials(3), serials(3));
  EXPECT_NE(serials(3), serials(4));
}

TEST(UnitQueue, EndsAfterTheUnitsAskedFor) {
  UnitQueue queue({.units = 3});
  EXPECT_EQ(take(queue, 3).size(), 3U);
  EXPECT_EQ(queue.next().has_value(), false);
}

}  // namespace
}  // namespace line_operator

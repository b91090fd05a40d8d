#include "daemon/bench/actuators.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using ::testing::ElementsAre;

ActuatorDefinition pressure(RegisterType type, WordOrder order = WordOrder::high_first) {
  ActuatorDefinition made = valve("back_pressure", 50, 1000, 1e6, 0);
  made.type = type;
  made.word_order = order;
  return made;
}

TEST(WriteOf, PutsCountsIntoOneRegister) {
  const auto write = write_of(pressure(RegisterType::u16), 400e3);
  EXPECT_THAT(write->values, ElementsAre(400));
  EXPECT_EQ(write->function, 0);
}

TEST(WriteOf, PutsLongNumbersIntoSeveralRegistersInEitherOrder) {
  ActuatorDefinition fine = pressure(RegisterType::u32);
  fine.scale = 1;
  EXPECT_THAT(write_of(fine, 400e3)->values, ElementsAre(6, 6784));
  fine.word_order = WordOrder::low_first;
  EXPECT_THAT(write_of(fine, 400e3)->values, ElementsAre(6784, 6));
  EXPECT_THAT(write_of(pressure(RegisterType::f32), 1.5e3)->values, ElementsAre(0x3fc0, 0));
}

TEST(WriteOf, AppendsTheWordThatPutsAValueIntoForce) {
  ActuatorDefinition made = pressure(RegisterType::u16);
  made.followed_by = {1};
  EXPECT_THAT(write_of(made, 7000)->values, ElementsAre(7, 1));
}

TEST(WriteOf, ChangesOneBitAndLeavesTheOthers) {
  ActuatorDefinition vent = valve("vent", 40, 1, 1, 1);
  vent.bit = 3;
  EXPECT_EQ(write_of(vent, 1)->function, 22);
  EXPECT_THAT(write_of(vent, 1)->values, ElementsAre(0xfff7, 0x0008));
  EXPECT_THAT(write_of(vent, 0)->values, ElementsAre(0xfff7, 0));
}

TEST(WriteOf, WritesABitByItself) {
  ActuatorDefinition relay = valve("motor_relay", 0, 1, 1, 0);
  relay.function = 5;
  relay.unit_id = 5;
  EXPECT_EQ(write_of(relay, 0)->function, 5);
  EXPECT_THAT(write_of(relay, 1)->values, ElementsAre(1));
  EXPECT_EQ(write_of(relay, 1)->unit, 5);
}

TEST(WriteOf, RefusesWhatIsOutOfRangeOrDoesNotFit) {
  EXPECT_FALSE(write_of(pressure(RegisterType::u16), 1.1e6));
  EXPECT_FALSE(write_of(pressure(RegisterType::u16), -1000));
  ActuatorDefinition narrow = pressure(RegisterType::i16);
  narrow.scale = 10;
  EXPECT_FALSE(write_of(narrow, 400e3)) << "40 000 counts";
}

}  // namespace
}  // namespace endgate::tests

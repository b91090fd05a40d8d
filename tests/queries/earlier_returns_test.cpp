// What earlier returns of an age showed.

#include "daemon/queries/earlier_returns.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/queries/small_store.h"

namespace endgate::daemon {
namespace {

using testing::HasSubstr;

class EarlierReturned : public testing::Test {
 protected:
  // Born with 9.0e-4, back after `months`, tested again; flow changed by `change`.
  void back(const std::string& serial, std::optional<double> months, double change,
            const std::string& verdict = "fail") {
    store_.keep({.serial = serial});
    store_.enter(schema::ReturnIntake{.serial = serial, .months_in_use = months, .by = "Cy"});
    store_.keep({.serial = serial, .attempt = 2, .verdict = verdict, .fad_400 = 9e-4 + change});
  }
  [[nodiscard]] std::optional<EarlierReturns> of(const std::string& serial) const {
    const schema::StoreReader reader(store_.folder());
    const UnitHistory unit = history_of(reader, serial);
    return earlier_returns(reader, unit, unit.tests.back());
  }
  test::SmallStore store_;
};

TEST_F(EarlierReturned, OfThatAgeGiveABandWithTheirNumber) {
  for (int i = 0; i < 6; ++i) back("E" + std::to_string(i), 4 + i, -1e-5 * i);
  back("Young", 1, -9e-4);
  back("Old", 40, -9e-4);
  back("Unknown", std::nullopt, -9e-4);
  back("Void", 6, -9e-4, "void");
  back("U1", 6, -3e-5);
  const auto earlier = of("U1");
  ASSERT_TRUE(earlier);
  EXPECT_EQ(earlier->units, 6U);
  const auto* band = band_of(*earlier, "fad_400");
  ASSERT_NE(band, nullptr);
  EXPECT_TRUE(band->told());
  EXPECT_NEAR(band->low, -4.5e-5, 1e-12);
  EXPECT_NEAR(band->middle, -2.5e-5, 1e-12);
  EXPECT_NEAR(band->high, -0.5e-5, 1e-12);
  EXPECT_THAT(words_of(*earlier), HasSubstr("6 units of this model came back after 3.0 to 12.0"));
}

TEST_F(EarlierReturned, TooFewSayNothingAndLaterOnesDoNotCount) {
  for (int i = 0; i < 4; ++i) back("E" + std::to_string(i), 6, -1e-5);
  back("U1", 6, -3e-5);
  back("Later", 6, -3e-5);
  const auto earlier = of("U1");
  ASSERT_TRUE(earlier);
  EXPECT_EQ(earlier->units, 4U);
  EXPECT_FALSE(band_of(*earlier, "fad_400")->told());
  EXPECT_THAT(words_of(*earlier), HasSubstr("too few to say what returns of that age show"));
}

TEST_F(EarlierReturned, AUnitOfUnknownAgeThatNeverCameBackOrWasRepairedHasNone) {
  back("U1", std::nullopt, -3e-5);
  EXPECT_FALSE(of("U1"));
  store_.keep({.serial = "U2"});
  EXPECT_FALSE(of("U2"));
  back("U3", 6, -3e-5);
  EXPECT_TRUE(of("U3"));
  store_.repair("U3");
  store_.keep({.serial = "U3", .attempt = 3});
  EXPECT_FALSE(of("U3")) << "a repaired unit is not what came back";
}

}  // namespace
}  // namespace endgate::daemon

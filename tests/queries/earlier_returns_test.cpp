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
    returned(serial, change, verdict);
  }
  void returned(const std::string& serial, double change, const std::string& verdict = "fail",
                const std::string& purpose = "returned", std::int64_t attempt = 2) {
    store_.keep({.serial = serial,
                 .attempt = attempt,
                 .verdict = verdict,
                 .fad_400 = 9e-4 + change,
                 .purpose = purpose});
  }
  [[nodiscard]] std::optional<EarlierReturns> of(const std::string& serial) const {
    const schema::StoreReader reader(store_.folder());
    const UnitHistory unit = history_of(reader, serial);
    return earlier_returns(reader, unit, unit.tests.back());
  }
  test::SmallStore store_;
};

TEST_F(EarlierReturned, OfThatAgeGiveABandWithTheirNumber) {
  for (int i = 0; i < 9; ++i) back("E" + std::to_string(i), 4 + i, -1e-5 * i);
  back("Young", 1, -9e-4);
  back("Old", 40, -9e-4);
  back("Unknown", std::nullopt, -9e-4);
  back("Void", 6, -9e-4, "void");
  back("U1", 6, -3e-5);
  const auto earlier = of("U1");
  ASSERT_TRUE(earlier);
  EXPECT_EQ(earlier->units, 9U);
  const auto* band = band_of(*earlier, "fad_400");
  ASSERT_NE(band, nullptr);
  EXPECT_TRUE(band->told());
  EXPECT_NEAR(band->low, -8e-5, 1e-12);
  EXPECT_NEAR(band->middle, -4e-5, 1e-12);
  EXPECT_NEAR(band->high, 0, 1e-12);
  EXPECT_THAT(words_of(*earlier), HasSubstr("9 units of this model came back after 3.0 to 12.0"));
  EXPECT_THAT(words_of(*earlier), HasSubstr("as measured")) << "the change beside them is not";
}

TEST_F(EarlierReturned, TooFewSayNothingAndLaterOnesDoNotCount) {
  for (int i = 0; i < 8; ++i) back("E" + std::to_string(i), 6, -1e-5);
  back("U1", 6, -3e-5);
  back("Later", 6, -3e-5);
  const auto earlier = of("U1");
  ASSERT_TRUE(earlier);
  EXPECT_EQ(earlier->units, 8U);
  EXPECT_FALSE(band_of(*earlier, "fad_400")->told());
  EXPECT_THAT(words_of(*earlier), HasSubstr("too few to say what returns of that age show"));
}

TEST_F(EarlierReturned, OnlyWhatCameBackIsComparedNotWhatWasRepairedOrTriedBefore) {
  store_.keep({.serial = "Repaired"});
  store_.enter(schema::ReturnIntake{.serial = "Repaired", .months_in_use = 6, .by = "Cy"});
  store_.repair("Repaired");
  returned("Repaired", 0);
  store_.keep({.serial = "Trial"});
  store_.enter(schema::ReturnIntake{.serial = "Trial", .months_in_use = 6, .by = "Cy"});
  returned("Trial", -9e-4, "fail", "trial");
  returned("Trial", -1e-5, "fail", "returned", 3);
  back("U1", 6, -3e-5);
  const auto earlier = of("U1");
  ASSERT_TRUE(earlier);
  EXPECT_EQ(earlier->units, 1U);
  EXPECT_NEAR(band_of(*earlier, "fad_400")->middle, -1e-5, 1e-12);
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

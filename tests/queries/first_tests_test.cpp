// Do all questions about first tests of units look at the same ones?

#include "daemon/queries/first_tests.h"

#include <gtest/gtest.h>

#include "daemon/queries/capability_told.h"
#include "daemon/queries/fail_causes.h"
#include "daemon/queries/rating_told.h"
#include "daemon/queries/unit_risk_told.h"
#include "daemon/queries/what_if.h"
#include "daemon/queries/yield_told.h"
#include "tests/support/made_facts.h"
#include "tests/support/temporary_folder.h"

namespace endgate::daemon {
namespace {

struct FirstSaid {
  std::string serial{}, verdict = "pass", purpose = "production";
  std::int64_t attempt = 1;
  double fad_400 = 8e-4;
};

class FirstTests : public testing::Test {
 protected:
  void keep(const FirstSaid& said) {
    schema::Record record;
    record.start = test::made_start(said.serial, said.attempt);
    record.start.purpose = said.purpose;
    record.start_position = writer_.append(record.start);
    record.verdict = said.verdict;
    record.standing = "hold";
    record.metrics = {test::made_metric("fad_400", said.fad_400)};
    record.limits = {{.metric = "fad_400",
                      .lower = 7e-4,
                      .pass_band = 1e-5,
                      .fail_band = 1e-5,
                      .outcome = said.verdict}};
    writer_.append(std::move(record), std::nullopt);
  }
  void keep_plain_units(int count) {
    for (int i = 0; i < count; ++i)
      keep({.serial = "U" + std::to_string(i), .fad_400 = 8e-4 + 1e-6 * (i * 7 % 10)});
  }
  [[nodiscard]] schema::StoreReader reader() const { return schema::StoreReader(folder_.path()); }

  const TrendFilter production_{.model = "P1-60-12"};

 private:
  test::TemporaryFolder folder_;
  schema::StoreWriter writer_{folder_.path()};
};

TEST_F(FirstTests, AUnitWhoseFirstAttemptWasVoidCountsEverywhereByItsFirstValidTest) {
  keep_plain_units(30);
  keep({.serial = "ODD", .verdict = "void", .fad_400 = 1e-4});
  keep({.serial = "ODD", .purpose = "retest", .attempt = 2, .fad_400 = 7.9e-4});
  keep({.serial = "ODD", .purpose = "retest", .attempt = 3, .fad_400 = 8.5e-4});
  const schema::StoreReader store = reader();
  EXPECT_EQ(yield_of(store, production_).first_pass.of, 31);
  const auto capability = capability_of(store, production_, "fad_400");
  ASSERT_EQ(capability->values.size(), 31U);
  EXPECT_EQ(capability->values.back(), 7.9e-4);
  EXPECT_EQ(rating_of(store, production_, {0.95, 0.95}).points.at(0).told.values.size(), 31U);
  EXPECT_EQ(what_if(store, production_, {.metric = "fad_400", .lower = 6e-4})->changed.of, 31);
  EXPECT_EQ(unit_risk_of(store, production_).tests, 31U);
}

TEST_F(FirstTests, TheRiskIsThatOfTheNewestUnitsAndNotOfAllThereEverWere) {
  for (int i = 0; i < 10; ++i)
    keep({.serial = "OLD" + std::to_string(i), .fad_400 = 7.05e-4 + 1e-6 * i});
  keep_plain_units(35);
  const schema::StoreReader store = reader();
  EXPECT_EQ(unit_risk_of(store, production_).tests, 45U);
  const UnitRiskTold newest = unit_risk_of(store, production_, 35);
  EXPECT_EQ(newest.tests, 35U);
  EXPECT_LT(newest.risk.good_undecided,
            0.01 * unit_risk_of(store, production_).risk.good_undecided);
}

TEST_F(FirstTests, ATrialBeforeProductionIsNotAUnitsFirstTest) {
  keep_plain_units(10);
  keep({.serial = "LAB", .purpose = "lab", .fad_400 = 1e-4});
  keep({.serial = "LAB", .verdict = "fail", .attempt = 2, .fad_400 = 7.9e-4});
  EXPECT_EQ(capability_of(reader(), production_, "fad_400")->values.size(), 11U);
  EXPECT_EQ(yield_of(reader(), production_).first_pass.of, 11);
  EXPECT_EQ(fail_causes_of(reader(), production_).failed, 1);
  const TrendFilter lab{.model = "P1-60-12", .purpose = "lab"};
  EXPECT_EQ(capability_of(reader(), lab, "fad_400")->values.size(), 1U);
}

TEST_F(FirstTests, AnEarlierTestOutsideTheFilterIsStillTheFirst) {
  keep({.serial = "A", .fad_400 = 8e-4});
  keep({.serial = "A", .purpose = "retest", .attempt = 2, .fad_400 = 8.1e-4});
  TrendFilter elsewhere = production_;
  elsewhere.bench = "south";
  EXPECT_EQ(capability_of(reader(), elsewhere, "fad_400")->values.size(), 0U);
  EXPECT_EQ(capability_of(reader(), production_, "fad_400")->values.size(), 1U);
}

}  // namespace
}  // namespace endgate::daemon

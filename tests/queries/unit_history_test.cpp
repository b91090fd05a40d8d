#include "daemon/queries/unit_history.h"

#include <gtest/gtest.h>

#include "tests/queries/small_store.h"

namespace endgate::daemon {
namespace {

const std::string kSerial = "QH2648-0001-A";

UnitHistory asked(const test::SmallStore& store) {
  return history_of(schema::StoreReader(store.folder()), kSerial);
}

TEST(UnitHistory, OfAnUnknownSerialHasNoStanding) {
  test::SmallStore store;
  const UnitHistory history = asked(store);
  EXPECT_TRUE(history.tests.empty());
  EXPECT_FALSE(history.standing);
}

TEST(UnitHistory, TellsTestsOldestFirstAndTheStandingKeptWithTheNewest) {
  test::SmallStore store;
  store.keep({.serial = kSerial, .verdict = "undecided", .standing = "hold"});
  store.keep({.serial = "QH2648-0002-B", .verdict = "fail", .standing = "reject"});
  store.keep({.serial = kSerial, .attempt = 2});
  const UnitHistory history = asked(store);
  ASSERT_EQ(history.tests.size(), 2U);
  EXPECT_EQ(history.tests[0].record.verdict, "undecided");
  EXPECT_EQ(history.tests[1].record.start.attempt, 2);
  EXPECT_EQ(history.standing->word, "release");
  EXPECT_EQ(history.standing->reason, "because of attempt 2");
}

TEST(UnitHistory, ARepairAfterTheLastTestHoldsTheUnit) {
  test::SmallStore store;
  store.keep({.serial = kSerial, .verdict = "fail", .standing = "reject"});
  store.repair(kSerial);
  const UnitHistory history = asked(store);
  ASSERT_EQ(history.repairs.size(), 1U);
  EXPECT_GT(history.repairs[0].position, history.tests[0].position);
  EXPECT_EQ(history.repairs[0].repair.finding, "worn ring");
  EXPECT_EQ(history.standing->word, "hold");
  store.keep({.serial = kSerial, .attempt = 2});
  EXPECT_EQ(asked(store).standing->word, "release");
}

TEST(UnitHistory, AStartedTestThatIsNotKeptYetHoldsTheUnit) {
  test::SmallStore store;
  store.keep({.serial = kSerial});
  store.begin(kSerial, 2);
  EXPECT_EQ(asked(store).standing->word, "hold");
  EXPECT_EQ(asked(store).standing->reason, "Attempt 2 was started and its result is not kept yet.");
}

}  // namespace
}  // namespace endgate::daemon

// What a station must know of a scanned unit: a test elsewhere, a broken-off one, a decision.

#include "daemon/line/identified_unit.h"

#include <gtest/gtest.h>

#include "schema/store.h"
#include "tests/support/made_facts.h"
#include "tests/support/temporary_folder.h"

namespace endgate::test {
namespace {

using namespace endgate::daemon;

class IdentifiedUnit : public testing::Test {
 protected:
  schema::Position start(std::int64_t attempt, const std::string& bench = "north") {
    schema::TestStart start = made_start("QH1", attempt);
    start.bench = bench;
    return writer_.append(start);
  }
  void keep(std::int64_t attempt, const std::string& verdict) {
    schema::Record record;
    record.start = made_start("QH1", attempt);
    record.start_position = start(attempt);
    record.verdict = verdict;
    record.standing = "hold";
    writer_.append(std::move(record), std::nullopt);
  }
  [[nodiscard]] EarlierTests history() const { return read_history(folder_.path(), "QH1"); }
  [[nodiscard]] analysis::Standing broken_off(std::int64_t attempt,
                                              const std::string& purpose) const {
    schema::TestStart start = made_start("QH1", attempt);
    start.purpose = purpose;
    return standing_when_broken_off(folder_.path(), start);
  }

  TemporaryFolder folder_;
  schema::StoreWriter writer_{folder_.path()};
};

TEST_F(IdentifiedUnit, IsKnownToBeUnderTestOnAnotherBench) {
  EXPECT_EQ(history().under_test_on, "");
  keep(1, "pass");
  EXPECT_EQ(history().under_test_on, "");
  start(2, "south");
  EXPECT_EQ(history().under_test_on, "south");
}

TEST_F(IdentifiedUnit, IsNotTheSameOnceItWasTestedOrDecidedOn) {
  keep(1, "undecided");
  const EarlierTests scanned = history();
  EXPECT_TRUE(say_the_same(scanned, history()));
  writer_.append(schema::Disposition{.serial = "QH1", .decision = "scrap", .by = "Ada"});
  EXPECT_FALSE(say_the_same(scanned, history()));
  const EarlierTests scrapped = history();
  start(2);
  EXPECT_FALSE(say_the_same(scrapped, history()));
}

// Nobody repairs a unit on a running bench: what is entered then washes off no fail.
TEST_F(IdentifiedUnit, ARepairAndAReturnEnteredDuringATestAreBeforeNoTest) {
  keep(1, "pass");
  schema::Record record;
  record.start = made_start("QH1", 2);
  record.start_position = start(2);
  record.verdict = "pass";
  writer_.append(schema::Repair{.serial = "QH1", .finding = "other", .by = "Ada"});
  writer_.append(schema::ReturnIntake{.serial = "QH1", .by = "Ada"});
  writer_.append(std::move(record), std::nullopt);
  EXPECT_FALSE(history().repaired_since);
  EXPECT_FALSE(history().returned_since);
  writer_.append(schema::Repair{.serial = "QH1", .finding = "other", .by = "Ada"});
  EXPECT_TRUE(history().repaired_since);
  keep(3, "pass");
  EXPECT_FALSE(history().repaired_since);
  const EarlierTests known = history();
  EXPECT_FALSE(known.tests.at(1).after_repair);
  EXPECT_FALSE(known.tests.at(1).after_return);
  EXPECT_TRUE(known.tests.at(2).after_repair);
  EXPECT_FALSE(known.tests.at(2).after_return);
}

TEST_F(IdentifiedUnit, ABrokenOffTestWashesOffNoFailAndNoDecision) {
  EXPECT_EQ(broken_off(1, "production").word, analysis::StandingWord::hold);
  keep(1, "fail");
  start(2);
  EXPECT_EQ(broken_off(2, "retest").word, analysis::StandingWord::reject);
}

TEST_F(IdentifiedUnit, ABrokenOffLabTestLeavesAReleasedUnitReleased) {
  keep(1, "pass");
  start(2);
  EXPECT_EQ(broken_off(2, "lab").word, analysis::StandingWord::release);
}

TEST_F(IdentifiedUnit, AScrappedUnitStaysScrappedBehindABrokenOffTest) {
  keep(1, "undecided");
  writer_.append(schema::Disposition{
      .serial = "QH1", .decision = "scrap", .reason = "housing cracked", .by = "Ada"});
  start(2);
  EXPECT_EQ(broken_off(2, "retest").word, analysis::StandingWord::reject);
}

}  // namespace
}  // namespace endgate::test

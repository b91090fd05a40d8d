// Facts that people enter: appended, found again by what they are about, checked by verify.

#include "tests/support/entered_facts.h"

#include <gtest/gtest.h>

#include "schema/seal.h"
#include "schema/sqlite_handle.h"
#include "schema/verify.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

using test::append_entered_facts;
using test::append_test;
using test::fault_of;

class EnteredFacts : public ::testing::Test {
 protected:
  EnteredFacts() : writer(folder.path()) {
    append_test(writer, "QH1", 1, test::made_trace(1, 1, 1, 1));
    append_entered_facts(writer, 3);
  }
  [[nodiscard]] StoreReader reader() const { return StoreReader(folder); }

  test::TemporaryFolder folder;
  StoreWriter writer;
};

TEST_F(EnteredFacts, AreFoundByWhatTheyAreAbout) {
  EXPECT_EQ(reader().lots_of("batch", "B-2648").front().fact.parts.size(), 2U);
  EXPECT_TRUE(reader().lots_of("unit", "B-2648").empty());
  EXPECT_EQ(reader().dispositions_of("QH1").front().fact.second_by, "Bo");
  EXPECT_EQ(reader().returns_of("QH1").front().fact.months_in_use, 7);
  EXPECT_FALSE(reader().returns_of("QH1").front().fact.hours_in_use);
  EXPECT_EQ(reader().imported_of("OLD-0042").front().fact.line, 2);
  EXPECT_EQ(reader().trace_removal_of(3)->fact.policy, "older than 400 days");
  EXPECT_EQ(reader().bench_checks("north", "reference_unit").size(), 1U);
  EXPECT_TRUE(reader().bench_checks("north", "fixture_leak").empty());
  EXPECT_TRUE(reader().bench_checks("south").empty());
}

TEST_F(EnteredFacts, LeadFromALotToItsSubjects) {
  EXPECT_EQ(reader().lots_with("R-1187").front().fact.subject, "B-2648");
  EXPECT_TRUE(reader().lots_with("R-1187", "motor").empty());
  EXPECT_EQ(reader().serials_of_batch("B-2648"), std::vector<std::string>{"QH1"});
}

TEST_F(EnteredFacts, LotsOfManySubjectsAreKeptAllOrNone_L2) {
  const auto of = [](const std::string& serial, std::vector<PartLot> parts) {
    return Lots{.subject_kind = "unit", .subject = serial, .parts = std::move(parts), .by = "Ada"};
  };
  const Lots good = of("QH8", {{"motor", "M-1"}});
  const Lots twice = of("QH9", {{"motor", "M-1"}, {"motor", "M-1"}});
  const Position before = reader().last_position();
  EXPECT_EQ(fault_of([&] { writer.append(std::vector{good, twice}); }), StoreFault::Kind::refused);
  EXPECT_EQ(reader().last_position(), before);
  EXPECT_TRUE(reader().lots_of("unit", "QH8").empty());
  EXPECT_EQ(writer.append(std::vector{good, of("QH9", {{"motor", "M-1"}})}), before + 2);
  EXPECT_EQ(reader().lots_with("M-1").size(), 2U);
}

TEST_F(EnteredFacts, AnAlarmIsOpenUntilItsNewestFactClosesIt) {
  const auto open = reader().open_alarms();
  ASSERT_EQ(open.size(), 1U);
  EXPECT_EQ(open.front().fact.state, "owned");
  const Position opened = open.front().fact.opened;
  writer.append(Alarm{.opened = opened, .bench = "north", .state = "closed"});
  EXPECT_TRUE(reader().open_alarms().empty());
  EXPECT_EQ(reader().alarm_history(opened).size(), 3U);
  EXPECT_EQ(fault_of([&] { writer.append(Alarm{.opened = 2, .state = "closed"}); }),
            StoreFault::Kind::refused)
      << "fact 2 is no alarm";
}

TEST_F(EnteredFacts, AnImportedFileIsKnownByItsFirstResult) {
  schema::ImportedTest other = test::made_import(2, "OLD-0043");
  other.source = "paper book 2020";
  other.file_sha256 = Hash{7};
  writer.append(std::vector{other, test::made_import(9, "OLD-0044")});
  const auto files = reader().imported_files();
  ASSERT_EQ(files.size(), 2U);
  EXPECT_EQ(files.front().fact.serial, "OLD-0042");
  EXPECT_EQ(files.back().fact.file_sha256, Hash{7});
  std::vector<std::string> behind;
  reader().for_each_imported_behind(files.front().position, [&](const Kept<ImportedTest>& test) {
    behind.push_back(test.fact.serial);
    return true;
  });
  EXPECT_EQ(behind, (std::vector<std::string>{"OLD-0043", "OLD-0044"}));
}

TEST_F(EnteredFacts, OfOneImportAreKeptTogetherOrNotAtAll_I2) {
  const Position before = reader().last_position();
  const std::vector<ImportedTest> twice{test::made_import(3), test::made_import(2)};
  EXPECT_EQ(fault_of([&] { writer.append(twice); }), StoreFault::Kind::refused);
  EXPECT_EQ(reader().last_position(), before);
}

struct Forgery {
  const char *table, *change;
};
class ForgedColumn : public EnteredFacts, public ::testing::WithParamInterface<Forgery> {};

TEST_P(ForgedColumn, OfAnEnteredFactIsFoundByVerify) {
  const std::string table = GetParam().table;
  EXPECT_FALSE(verify(folder, false).first_bad) << verify(folder, false).what;
  Database stranger(folder.path() / "records.db", Database::Mode::read_write);
  stranger.run("DROP TRIGGER " + table + "_is_never_updated");
  stranger.run("UPDATE " + table + " SET " + GetParam().change);
  const VerifyResult found = verify(folder, false);
  EXPECT_TRUE(found.first_bad);
  EXPECT_NE(found.what.find("table " + table + " "), std::string::npos) << found.what;
}

INSTANTIATE_TEST_SUITE_P(EveryTable, ForgedColumn,
                         ::testing::Values(Forgery{"lots", "subject = 'x'"},
                                           Forgery{"lot", "lot = 'x' WHERE part = 'reed'"},
                                           Forgery{"disposition", "decision = 'scrap'"},
                                           Forgery{"return_intake", "serial = 'x'"},
                                           Forgery{"alarm", "state = 'closed'"},
                                           Forgery{"imported_test", "serial = 'x'"},
                                           Forgery{"trace_removed", "at_utc_ms = 5"},
                                           Forgery{"bench_check", "outcome = 'x'"},
                                           Forgery{"withdrawal", "withdrawn = 5"}));

}  // namespace
}  // namespace endgate::schema

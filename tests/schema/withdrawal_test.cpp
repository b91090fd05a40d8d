// An entry that was taken back counts no more, and is still there.

#include <gtest/gtest.h>

#include "schema/seal.h"
#include "schema/verify.h"
#include "tests/support/entered_facts.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

using test::fault_of;

class WithdrawnEntry : public ::testing::Test {
 protected:
  WithdrawnEntry() : writer(folder.path()) {
    test::append_test(writer, "QH1", 1, test::made_trace(1, 1, 1, 1));  // start 2, record 3
  }
  [[nodiscard]] StoreReader reader() const { return StoreReader(folder); }
  Position withdraw(Position entry) {
    return writer.append(Withdrawal{.withdrawn = entry, .why = "mistyped", .by = "Bo"});
  }

  test::TemporaryFolder folder;
  StoreWriter writer;
};

TEST_F(WithdrawnEntry, IsNotGivenBackByAnyQuestionAboutItsUnit_S6) {
  const Position first = writer.append(Repair{.serial = "QH1", .finding = "worn ring"});
  withdraw(writer.append(Repair{.serial = "QH1", .finding = "reed"}));
  withdraw(writer.append(Disposition{.serial = "QH1", .decision = "scrap"}));
  withdraw(writer.append(ReturnIntake{.serial = "QH1"}));
  withdraw(writer.append(std::vector{test::made_import(1, "QH1")}));
  EXPECT_EQ(reader().repairs_of("QH1").size(), 1U);
  EXPECT_EQ(reader().repair_positions_of("QH1"), std::vector<Position>{first});
  EXPECT_EQ(reader().last_repair_position("QH1"), first);
  EXPECT_TRUE(reader().dispositions_of("QH1").empty());
  EXPECT_TRUE(reader().returns_of("QH1").empty());
  EXPECT_TRUE(reader().imported_of("QH1").empty());
  reader().for_each_imported_behind(0, [](const Kept<ImportedTest>&) {
    ADD_FAILURE() << "a withdrawn import is exported";
    return true;
  });
}

TEST_F(WithdrawnEntry, OfLotsLeadsToNoUnit_S6) {
  const Lots lots{.subject_kind = "batch", .subject = "B-1", .parts = {{"reed", "R-1"}}};
  withdraw(writer.append(lots));
  EXPECT_TRUE(reader().lots_of("batch", "B-1").empty());
  EXPECT_TRUE(reader().lots_with("R-1").empty());
  EXPECT_TRUE(reader().subjects_with_lots("batch").empty());
  EXPECT_TRUE(reader().part_names().empty());
  writer.append(lots);
  EXPECT_EQ(reader().lots_with("R-1").size(), 1U) << "entered again it counts";
}

TEST_F(WithdrawnEntry, OfACheckIsNoCheck_S6) {
  withdraw(writer.append(BenchCheck{.bench = "north", .kind = "flow_nozzle"}));
  EXPECT_TRUE(reader().bench_checks("north").empty());
  ASSERT_EQ(reader().withdrawn_about("bench", "north").size(), 1U);
  EXPECT_FALSE(reader().newest_bench_check("north", "flow_nozzle"));
}

TEST_F(WithdrawnEntry, OfAnImportStillStandsForTheFileItWasReadFrom_I3) {
  withdraw(writer.append(std::vector{test::made_import(4)}));
  EXPECT_EQ(reader().imported_files().size(), 1U);
}

TEST_F(WithdrawnEntry, IsShownWithWhoTookItBackAndWhy) {
  const Position entry = writer.append(Repair{.serial = "QH1", .finding = "reed"});
  const Position taken_back = withdraw(entry);
  const auto shown = reader().withdrawn_about("unit", "QH1");
  ASSERT_EQ(shown.size(), 1U);
  EXPECT_EQ(shown.front().position, entry);
  EXPECT_EQ(std::get<Repair>(decode_fact(shown.front().bytes)).finding, "reed");
  EXPECT_EQ(shown.front().withdrawal.position, taken_back);
  EXPECT_EQ(shown.front().withdrawal.fact.why, "mistyped");
  EXPECT_TRUE(reader().withdrawn_about("unit", "QH2").empty());
  EXPECT_EQ(reader().withdrawal_of(entry)->fact.by, "Bo");
  EXPECT_FALSE(reader().withdrawal_of(3));
  EXPECT_FALSE(verify(folder, false).first_bad) << verify(folder, false).what;
}

TEST_F(WithdrawnEntry, CannotBeATestADefinitionAnAlarmOrAWithdrawal_S6) {
  const Position accepted = writer.append(Definition{.kind = "bench", .subject = "n", .text = "x"});
  const Position alarm = writer.append(Alarm{.code = "flow_drift", .state = "open"});
  const Position removed = writer.append(std::vector{TraceRemoved{.record = 3}});
  const Position taken_back = withdraw(writer.append(Repair{.serial = "QH1"}));
  const Position last = reader().last_position();
  for (const Position wrong : {Position{1}, Position{2}, Position{3}, accepted, alarm, removed,
                               taken_back, last + 7, Position{0}})
    EXPECT_EQ(fault_of([&] { withdraw(wrong); }), StoreFault::Kind::refused) << wrong;
  EXPECT_EQ(reader().last_position(), last) << "nothing was kept";
}

TEST_F(WithdrawnEntry, IsWithdrawnOnce_S6) {
  const Position entry = writer.append(Repair{.serial = "QH1"});
  withdraw(entry);
  EXPECT_EQ(fault_of([&] { withdraw(entry); }), StoreFault::Kind::refused);
}

}  // namespace
}  // namespace endgate::schema

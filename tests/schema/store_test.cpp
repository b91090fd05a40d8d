// The way there and back: what was appended is read, in order, by whom and how often.

#include "schema/store.h"

#include <gtest/gtest.h>

#include "schema/open_starts.h"
#include "schema/seal.h"
#include "schema/sqlite_handle.h"
#include "schema/verify.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

using test::append_test;
using test::fault_of;
using test::made_record;
using test::made_start;
using test::made_trace;
using test::TemporaryFolder;

using Kind = StoreFault::Kind;

TEST(Store, GivesBackARecordWithItsTraceAsItWasAppended) {
  TemporaryFolder folder;
  StoreWriter writer(folder);
  const Trace trace = made_trace(3, 2, 8, 1);
  const TestStart start = made_start("QH26480117-A");
  const Position started = writer.append(start);
  const Record record = made_record(started, start);
  const Position position = writer.append(record, trace);

  StoreReader reader(folder);
  const auto found = reader.record_at(position);
  ASSERT_TRUE(found);
  Record expected = record;
  expected.trace_sha256 = hash_of(trace);
  expected.trace_file = "trace-0001.db";
  EXPECT_EQ(encode(Fact(found->record)), encode(Fact(expected)));
  const auto back = reader.trace_of(*found);
  ASSERT_TRUE(back);
  EXPECT_TRUE(test::same(*back, trace));
}

TEST(Store, CountsEveryKindOfFactInOneRunningPosition_S3) {
  TemporaryFolder folder;
  StoreWriter writer(folder);
  const Position first = writer.append(BenchEvent{.bench = "north", .code = "out_of_use"});
  EXPECT_EQ(first, 2);  // 1 is the opening of the store
  EXPECT_EQ(writer.append(Repair{.serial = "QH1"}), 3);
  EXPECT_EQ(append_test(writer, "QH1"), 5);
  EXPECT_EQ(writer.append(Definition{.kind = "bench", .subject = "north", .text = "x"}), 6);
}

TEST(Store, RefusesASerialAndAttemptThatExist) {
  TemporaryFolder folder;
  StoreWriter writer(folder);
  writer.append(made_start("QH1"));
  EXPECT_EQ(fault_of([&] { writer.append(made_start("QH1")); }), Kind::refused);
  EXPECT_EQ(writer.append(made_start("QH1", 2)), 3);  // the refusal took no position
}

TEST(Store, RefusesASecondRecordOfOneStart) {
  TemporaryFolder folder;
  StoreWriter writer(folder);
  append_test(writer, "QH1");
  EXPECT_EQ(fault_of([&] { writer.append(made_record(2, made_start("QH1")), std::nullopt); }),
            Kind::refused);
}

TEST(Store, RefusesARecordWhoseStartIsAnotherTest) {
  TemporaryFolder folder;
  StoreWriter writer(folder);
  const Position started = writer.append(made_start("QH1"));
  EXPECT_EQ(fault_of([&] { writer.append(made_record(started, made_start("QH2")), std::nullopt); }),
            Kind::refused);
  EXPECT_EQ(fault_of([&] { writer.append(made_record(77, made_start("QH1")), std::nullopt); }),
            Kind::refused);
}

TEST(Store, RefusesNotANumberAndTextThatIsNotUtf8) {
  TemporaryFolder folder;
  StoreWriter writer(folder);
  const TestStart start = made_start("QH1");
  Record record = made_record(writer.append(start), start);
  record.cycle_s = std::nan("");
  EXPECT_EQ(fault_of([&] { writer.append(record, std::nullopt); }), Kind::refused);
  EXPECT_EQ(fault_of([&] { writer.append(Repair{.serial = "\xff"}); }), Kind::refused);
  EXPECT_EQ(StoreReader(folder).last_position(), 2);
}

TEST(Store, LetsOneWriterInAndNamesItToTheSecond) {
  TemporaryFolder folder;
  StoreWriter writer(folder);
  try {
    StoreWriter second(folder);
    FAIL() << "two writers";
  } catch (const StoreFault& fault) {
    EXPECT_EQ(fault.kind(), Kind::busy);
    EXPECT_NE(std::string(fault.what()).find(std::to_string(getpid())), std::string::npos)
        << fault.what();
  }
}

TEST(Store, KeepsItsIdAndItsFactsWhenOpenedAgain) {
  TemporaryFolder folder;
  std::string id;
  {
    StoreWriter writer(folder);
    append_test(writer, "QH1");
    id = StoreReader(folder).store_id();
  }
  StoreWriter again(folder);
  StoreReader reader(folder);
  EXPECT_EQ(id.size(), 32U);
  EXPECT_EQ(reader.store_id(), id);
  EXPECT_EQ(append_test(again, "QH2"), 5);
  EXPECT_EQ(reader.record_count(), 2);
}

TEST(Store, IsReadWhileNoWriterIsThere) {
  TemporaryFolder folder;
  {
    StoreWriter writer(folder);
    append_test(writer, "QH1", 1, made_trace(1, 1, 1, 1));
  }
  StoreReader reader(folder);
  const auto records = reader.records_of("QH1");
  ASSERT_EQ(records.size(), 1U);
  EXPECT_TRUE(reader.trace_of(records[0]));
}

TEST(Store, SaysThatThereIsNoStoreInAnEmptyFolder) {
  TemporaryFolder folder;
  EXPECT_EQ(fault_of([&] { StoreReader reader(folder); }), Kind::io);
}

TEST(Store, FindsTheRecordsOfASerialOldestFirst) {
  TemporaryFolder folder;
  StoreWriter writer(folder);
  append_test(writer, "QH1");
  append_test(writer, "QH2");
  append_test(writer, "QH1", 2);
  const auto found = StoreReader(folder).records_of("QH1");
  ASSERT_EQ(found.size(), 2U);
  EXPECT_EQ(found[0].record.start.attempt, 1);
  EXPECT_EQ(found[1].record.start.attempt, 2);
  EXPECT_EQ(StoreReader(folder).last_attempt("QH1"), 2);
  EXPECT_EQ(StoreReader(folder).last_attempt("QH9"), 0);
}

TEST(Store, FindsTheLatestRecordsOfOneBenchNewestFirst) {
  TemporaryFolder folder;
  StoreWriter writer(folder);
  for (const char* bench : {"north", "south", "north", "south"}) {
    TestStart start = made_start("QH" + std::to_string(StoreReader(folder).last_position()));
    start.bench = bench;
    const Position position = writer.append(start);
    writer.append(made_record(position, start), std::nullopt);
  }
  const auto all = StoreReader(folder).latest_records(3);
  ASSERT_EQ(all.size(), 3U);
  EXPECT_GT(all[0].position, all[1].position);
  const auto south = StoreReader(folder).latest_records(9, "south");
  ASSERT_EQ(south.size(), 2U);
  EXPECT_EQ(south[0].position, 9);
}

// Otherwise a bench that stood still for years would be looked for through every test since.
TEST(Store, AsksForTheLatestOfOneBenchAmongTheNewestFactsOnly) {
  TemporaryFolder folder;
  {
    StoreWriter writer(folder);
    append_test(writer, "QH1");
  }
  const std::string bench = StoreReader(folder).latest_records(1).at(0).record.start.bench;
  ASSERT_EQ(StoreReader(folder).latest_records(1, bench).size(), 1U);
  Database(folder.path() / "records.db", Database::Mode::read_write)
      .run(
          "PRAGMA foreign_keys = OFF;"
          "INSERT INTO record SELECT 30000, 29999, serial, 2, model, 'another', batch, purpose,"
          " verdict, standing, started_utc_ms, finished_utc_ms, trace_file, trace_sha256"
          " FROM record");
  EXPECT_TRUE(StoreReader(folder).latest_records(1, bench).empty());
}

TEST(Store, ListsStartsWhoseTestHasNoRecord) {
  TemporaryFolder folder;
  StoreWriter writer(folder);
  append_test(writer, "QH1");
  const Position open = writer.append(made_start("QH2"));
  const auto found = StoreReader(folder).starts_without_record();
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].position, open);
  EXPECT_EQ(found[0].start.serial, "QH2");
}

// A start that was left open long ago stays in sight, everything before it need not be read again.
TEST(Store, LooksForOpenStartsBehindTheLastPlaceThatIsComplete) {
  TemporaryFolder folder;
  Position open = 0;
  {
    StoreWriter writer(folder);
    append_test(writer, "QH1");
    append_test(writer, "QH2");
    open = writer.append(made_start("QH3"));
    append_test(writer, "QH4");
    writer.sign_head();
  }
  Database database(folder.path() / "records.db", Database::Mode::read_only);
  EXPECT_EQ(complete_up_to(database), open - 1);
  ASSERT_EQ(StoreReader(folder).starts_without_record().size(), 1U);
  StoreWriter writer(folder);
  writer.append(made_record(open, made_start("QH3")), std::nullopt);
  writer.sign_head();
  EXPECT_EQ(complete_up_to(database), StoreReader(folder).last_position());
  EXPECT_TRUE(StoreReader(folder).starts_without_record().empty());
  EXPECT_FALSE(verify(folder, false).first_bad);
  const Statement plan(database, "EXPLAIN QUERY PLAN " + std::string(kOpenStarts));
  Rows rows = plan.query({std::int64_t{0}});
  ASSERT_TRUE(rows.next());
  EXPECT_EQ(rows.text(3), "SEARCH f USING INTEGER PRIMARY KEY (rowid>?)");
}

TEST(Store, NumbersTheVersionsOfADefinitionFromOne) {
  TemporaryFolder folder;
  StoreWriter writer(folder);
  const auto accept = [&](const char* subject, const char* text) {
    writer.append(Definition{.kind = "limits", .subject = subject, .text = text, .by = "Ada"});
  };
  accept("P1-60-12", "one");
  accept("P1-20-12", "other");
  accept("P1-60-12", "two");
  StoreReader reader(folder);
  const auto current = reader.current_definition("limits", "P1-60-12");
  ASSERT_TRUE(current);
  EXPECT_EQ(current->version, 2);
  EXPECT_EQ(current->text, "two");
  EXPECT_EQ(current->text_sha256, sha256_of("two"));
  EXPECT_EQ(reader.definitions().size(), 3U);
  EXPECT_FALSE(reader.current_definition("bench", "P1-60-12"));
}

TEST(Store, KnowsTheRepairsOfASerial) {
  TemporaryFolder folder;
  StoreWriter writer(folder);
  EXPECT_EQ(StoreReader(folder).last_repair_position("QH1"), 0);
  const Position position = writer.append(Repair{.serial = "QH1", .finding = "reed bent"});
  writer.append(Repair{.serial = "QH2"});
  StoreReader reader(folder);
  EXPECT_EQ(reader.last_repair_position("QH1"), position);
  EXPECT_EQ(reader.repair_positions_of("QH1"), std::vector{position});
  ASSERT_EQ(reader.repairs_of("QH1").size(), 1U);
  EXPECT_EQ(reader.repairs_of("QH1")[0].fact.finding, "reed bent");
}

TEST(Store, StopsVisitingWhenTheVisitorHasSeenEnough) {
  TemporaryFolder folder;
  StoreWriter writer(folder);
  append_test(writer, "QH1");
  append_test(writer, "QH2");
  int visited = 0;
  StoreReader(folder).for_each_record([&](const StoredRecord&) { return ++visited < 1; });
  EXPECT_EQ(visited, 1);
}

}  // namespace
}  // namespace endgate::schema

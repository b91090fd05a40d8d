// A stored fact is never updated or deleted, by nobody who goes through SQLite.

#include <gtest/gtest.h>

#include "schema/migrations.h"
#include "schema/sqlite_handle.h"
#include "schema/store.h"
#include "schema/verify.h"
#include "schema/writer_authorizer.h"
#include "tests/support/entered_facts.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

using test::append_test;
using test::fault_of;
using Kind = StoreFault::Kind;

std::vector<std::string> tables_of(Database& database) {
  const Statement names(database, "SELECT name FROM sqlite_schema WHERE type = 'table'");
  std::vector<std::string> tables;
  for (Rows rows = names.query({}); rows.next();) tables.push_back(rows.text(0));
  return tables;
}

std::string column_of(Database& database, const std::string& table) {
  return database.text("SELECT name FROM pragma_table_info('" + table + "') LIMIT 1");
}

class AppendOnly : public ::testing::Test {
 protected:
  AppendOnly() {
    fill();
    StoreWriter opened_again(folder.path());
  }
  void fill() {
    StoreWriter writer(folder.path());
    append_test(writer, "QH1", 1, test::made_trace(1, 1, 1, 1));
    writer.append(Repair{.serial = "QH1"});
    writer.append(BenchEvent{.bench = "north", .code = "out_of_use"});
    writer.append(Definition{.kind = "bench", .subject = "north", .text = "x"});
    test::append_entered_facts(writer, 3);
  }
  test::TemporaryFolder folder;
};

TEST_F(AppendOnly, HoldsAgainstAnyConnectionForEveryTable_S2) {
  for (const char* file : {"records.db", "trace-0001.db"}) {
    Database stranger(folder.path() / file, Database::Mode::read_write);
    for (const std::string& table : tables_of(stranger)) {
      const std::string column = column_of(stranger, table);
      EXPECT_GT(stranger.number("SELECT COUNT(*) FROM " + table), 0) << table;
      EXPECT_EQ(
          fault_of([&] { stranger.run("UPDATE " + table + " SET " + column + " = " + column); }),
          Kind::refused)
          << table;
      EXPECT_EQ(fault_of([&] { stranger.run("DELETE FROM " + table); }), Kind::refused) << table;
    }
  }
}

TEST_F(AppendOnly, HoldsAgainstReplaceOnTheWritersSettings_S2) {
  Database database(folder.path() / "records.db", Database::Mode::read_write);
  prepare_for_writing(database, kTruthFile);
  EXPECT_EQ(fault_of([&] {
              database.run("REPLACE INTO repair(position, serial, at_utc_ms) VALUES(4, 'QH2', 0)");
            }),
            Kind::refused);
}

TEST_F(AppendOnly, LeavesNoGapInThePositions_S3) {
  Database stranger(folder.path() / "records.db", Database::Mode::read_write);
  EXPECT_EQ(fault_of([&] {
              stranger.run("INSERT INTO fact(position, kind, bytes, head) VALUES(99, 5, x'', x'')");
            }),
            Kind::refused);
}

TEST_F(AppendOnly, CompilesNothingButReadingAndInsertingForTheWriter_S2) {
  Database database(folder.path() / "records.db", Database::Mode::read_write);
  prepare_for_writing(database, kTruthFile);
  forbid_all_but_appending(database);
  for (const char* sql :
       {"DROP TRIGGER fact_is_never_deleted", "DROP TABLE fact", "DELETE FROM fact",
        "UPDATE fact SET kind = 1", "ALTER TABLE fact RENAME TO other", "PRAGMA synchronous = OFF",
        "ATTACH ':memory:' AS other", "CREATE TABLE other(x)", "VACUUM", "REINDEX"})
    EXPECT_EQ(fault_of([&] { database.run(sql); }), Kind::refused) << sql;
  database.run("BEGIN IMMEDIATE; COMMIT");
  EXPECT_GT(database.number("SELECT MAX(position) FROM fact"), 0);
}

TEST_F(AppendOnly, IsSetUpSoThatACommitIsDurable_S5) {
  Database database(folder.path() / "records.db", Database::Mode::read_write);
  prepare_for_writing(database, kTruthFile);
  EXPECT_EQ(database.text("PRAGMA journal_mode"), "wal");
  EXPECT_EQ(database.number("PRAGMA synchronous"), 2);
  EXPECT_EQ(database.number("PRAGMA wal_autocheckpoint"), 0);
  EXPECT_EQ(database.number("PRAGMA page_size"), 4096);
  EXPECT_EQ(database.number("PRAGMA foreign_keys"), 1);
  EXPECT_EQ(database.number("SELECT COUNT(*) FROM pragma_table_list WHERE schema = 'main' AND"
                            " strict = 0 AND name NOT LIKE 'sqlite_%'"),
            0);
}

TEST_F(AppendOnly, TakesADoubleQuotedNameForANameAndNotForAText) {
  Database database(folder.path() / "records.db", Database::Mode::read_only);
  EXPECT_TRUE(fault_of([&] { database.run("SELECT \"no_such_column\" FROM fact"); }));
}

TEST_F(AppendOnly, LetsNoReaderWriteOrCheckpoint_S5) {
  Database database(folder.path() / "records.db", Database::Mode::read_only);
  prepare_for_reading(database, kTruthFile);
  EXPECT_EQ(fault_of([&] {
              database.run("INSERT INTO repair(position, serial, at_utc_ms) VALUES(9, 'Q', 0)");
            }),
            Kind::refused);
}

TEST_F(AppendOnly, MovesNothingIntoTheFileWhenAReaderAsksForACheckpointOrGoes_S5) {
  StoreWriter writer(folder.path());
  append_test(writer, "QH2");
  const auto before = std::filesystem::last_write_time(folder.path() / "records.db");
  {
    Database database(folder.path() / "records.db", Database::Mode::read_only);
    prepare_for_reading(database, kTruthFile);
    EXPECT_GT(database.number("SELECT COUNT(*) FROM record"), 1);
    EXPECT_NE(sqlite3_wal_checkpoint_v2(database.raw(), nullptr, SQLITE_CHECKPOINT_PASSIVE, nullptr,
                                        nullptr),
              SQLITE_OK);
  }
  EXPECT_EQ(std::filesystem::last_write_time(folder.path() / "records.db"), before);
}

TEST_F(AppendOnly, RefusesAFileOfALaterVersionAndOfAnotherProgram) {
  const auto set = [&](const std::string& pragma) {
    Database database(folder.path() / "records.db", Database::Mode::read_write);
    database.run("PRAGMA " + pragma);
  };
  set("user_version = 99");
  EXPECT_EQ(fault_of([&] { StoreWriter writer(folder.path()); }), Kind::wrong_version);
  EXPECT_EQ(fault_of([&] { StoreReader reader(folder.path()); }), Kind::wrong_version);
  set("user_version = 1");
  set("application_id = 7");
  EXPECT_EQ(fault_of([&] { StoreWriter writer(folder.path()); }), Kind::wrong_version);
}

TEST_F(AppendOnly, FinishesAFirstOpeningThatWasCutOffBeforeItsTables) {
  test::TemporaryFolder fresh;
  { Database(fresh.path() / "records.db", Database::Mode::read_write).run("PRAGMA user_version"); }
  StoreWriter writer(fresh.path());
  append_test(writer, "QH1");
  EXPECT_FALSE(verify(fresh.path(), true).first_bad);
}

}  // namespace
}  // namespace endgate::schema

#include "schema/sqlite_log.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>

#include <filesystem>
#include <string>

#include "schema/store.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

std::string& heard() {
  static std::string text;
  return text;
}

void keep(int, const std::string& text) { heard() += text + "\n"; }

// SQLite takes the function only before it runs, so it is shut down for this test; nothing of it is
// open between two tests.
void listen() {
  heard().clear();
  ASSERT_EQ(sqlite3_shutdown(), SQLITE_OK);
  ASSERT_TRUE(listen_to_sqlite(&keep));
}

// It runs before the service answers anybody: whoever waits must be able to read why.
TEST(SqliteLog, HearsThatAnOlderStoreIsBroughtUpToDate) {
  listen();
  const test::TemporaryFolder folder;
  const auto old = std::filesystem::path(ENDGATE_SOURCE_DIR) / "fixtures/databases/version-1";
  std::filesystem::copy(
      old, folder.path(),
      std::filesystem::copy_options::recursive | std::filesystem::copy_options::overwrite_existing);
  { const StoreWriter writer(folder.path()); }
  EXPECT_THAT(heard(), ::testing::HasSubstr("records.db is brought from version 1 to version"));
  heard().clear();
  { const StoreWriter writer(folder.path()); }
  EXPECT_THAT(heard(), ::testing::Not(::testing::HasSubstr("is brought")));
  const test::TemporaryFolder fresh;
  { const StoreWriter writer(fresh.path()); }
  EXPECT_THAT(heard(), ::testing::Not(::testing::HasSubstr("is brought"))) << "a new file";
}

TEST(SqliteLog, HearsWhatSqliteComplainsAbout) {
  listen();
  sqlite3* database = nullptr;
  ASSERT_EQ(sqlite3_open(":memory:", &database), SQLITE_OK);
  EXPECT_NE(sqlite3_exec(database, "SELECT no_such_column", nullptr, nullptr, nullptr), SQLITE_OK);
  sqlite3_close(database);
  EXPECT_THAT(heard(), ::testing::HasSubstr("no_such_column"));
  EXPECT_FALSE(listen_to_sqlite(nullptr)) << "SQLite runs by now";
}

}  // namespace
}  // namespace endgate::schema

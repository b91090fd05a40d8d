#include "schema/sqlite_log.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>

#include <string>

namespace endgate::schema {
namespace {

std::string& heard() {
  static std::string text;
  return text;
}

void keep(int, const std::string& text) { heard() = text; }

// SQLite takes the function only before it runs, so it is shut down for this test; nothing of it is
// open between two tests.
TEST(SqliteLog, HearsWhatSqliteComplainsAbout) {
  ASSERT_EQ(sqlite3_shutdown(), SQLITE_OK);
  ASSERT_TRUE(listen_to_sqlite(&keep));
  sqlite3* database = nullptr;
  ASSERT_EQ(sqlite3_open(":memory:", &database), SQLITE_OK);
  EXPECT_NE(sqlite3_exec(database, "SELECT no_such_column", nullptr, nullptr, nullptr), SQLITE_OK);
  sqlite3_close(database);
  EXPECT_THAT(heard(), ::testing::HasSubstr("no_such_column"));
  EXPECT_FALSE(listen_to_sqlite(nullptr)) << "SQLite runs by now";
}

}  // namespace
}  // namespace endgate::schema

#include "schema/sqlite_log.h"

#include <sqlite3.h>

namespace endgate::schema {
namespace {

SqliteListener& the_listener() {
  static SqliteListener listener = nullptr;
  return listener;
}

void hear(void*, int code, const char* text) {
  if (the_listener() != nullptr) the_listener()(code, text);
}

}  // namespace

bool listen_to_sqlite(SqliteListener listener) {
  if (sqlite3_config(SQLITE_CONFIG_LOG, &hear, nullptr) != SQLITE_OK) return false;
  the_listener() = listener;
  return true;
}

}  // namespace endgate::schema

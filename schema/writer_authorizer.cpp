#include "schema/writer_authorizer.h"

namespace endgate::schema {
namespace {

int judge(void*, int action, const char*, const char*, const char*, const char*) {
  switch (action) {
    case SQLITE_SELECT:
    case SQLITE_READ:
    case SQLITE_INSERT:
    case SQLITE_TRANSACTION:
    case SQLITE_FUNCTION:
      return SQLITE_OK;
    default:
      return SQLITE_DENY;
  }
}

}  // namespace

void forbid_all_but_appending(Database& database) {
  sqlite3_set_authorizer(database.raw(), &judge, nullptr);
}

}  // namespace endgate::schema

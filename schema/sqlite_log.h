// What does SQLite complain about that no call returns?
//
// A checkpoint that fails behind a commit, a recovered log, a file moved away: SQLite says these
// only to a process-wide function.  The library itself writes no log, so the caller gives one.

#pragma once

#include <string>

namespace endgate::schema {

using SqliteListener = void (*)(int code, const std::string& text);

// Before the first database is opened; false: too late, SQLite runs already and stays unheard.
// The listener is called on any thread and must not use SQLite.
[[nodiscard]] bool listen_to_sqlite(SqliteListener listener);

}  // namespace endgate::schema

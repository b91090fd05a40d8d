// What may the writing connection do?  Read, insert, begin, commit: nothing else compiles.
//
// The triggers hold against every connection; this holds against our own mistakes.

#pragma once

#include "schema/sqlite_handle.h"

namespace endgate::schema {

// After the migrations.
void forbid_all_but_appending(Database& database);

}  // namespace endgate::schema

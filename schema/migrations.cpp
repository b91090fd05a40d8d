#include "schema/migrations.h"

namespace endgate::schema {
namespace {

// A table is append-only by its two triggers; recursive_triggers makes REPLACE meet them too.
#define APPEND_ONLY(table)                                                  \
  "CREATE TRIGGER " table "_is_never_updated BEFORE UPDATE ON " table       \
  " BEGIN SELECT RAISE(ABORT, 'S-2: a stored fact is never updated'); END;" \
  "CREATE TRIGGER " table "_is_never_deleted BEFORE DELETE ON " table       \
  " BEGIN SELECT RAISE(ABORT, 'S-2: a stored fact is never deleted'); END;"

constexpr const char* kTruth1 =
    "CREATE TABLE fact(position INTEGER PRIMARY KEY, kind INTEGER NOT NULL, bytes BLOB NOT NULL,"
    " head BLOB NOT NULL) STRICT;"
    "CREATE TRIGGER fact_has_the_next_position BEFORE INSERT ON fact"
    " WHEN NEW.position <> (SELECT COALESCE(MAX(position), 0) + 1 FROM fact)"
    " BEGIN SELECT RAISE(ABORT, 'S-3: positions run without a gap'); END;"

    "CREATE TABLE opened(position INTEGER PRIMARY KEY REFERENCES fact, store_id BLOB NOT NULL,"
    " public_key BLOB NOT NULL) STRICT;"

    "CREATE TABLE definition(position INTEGER PRIMARY KEY REFERENCES fact, kind TEXT NOT NULL,"
    " subject TEXT NOT NULL, version INTEGER NOT NULL, text_sha256 BLOB NOT NULL,"
    " UNIQUE(kind, subject, version)) STRICT;"

    "CREATE TABLE start(position INTEGER PRIMARY KEY REFERENCES fact, serial TEXT NOT NULL,"
    " attempt INTEGER NOT NULL, model TEXT NOT NULL, bench TEXT NOT NULL, batch TEXT NOT NULL,"
    " purpose TEXT NOT NULL, started_utc_ms INTEGER NOT NULL, UNIQUE(serial, attempt)) STRICT;"

    "CREATE TABLE record(position INTEGER PRIMARY KEY REFERENCES fact,"
    " start_position INTEGER NOT NULL UNIQUE REFERENCES start, serial TEXT NOT NULL,"
    " attempt INTEGER NOT NULL, model TEXT NOT NULL, bench TEXT NOT NULL, batch TEXT NOT NULL,"
    " purpose TEXT NOT NULL, verdict TEXT NOT NULL, standing TEXT NOT NULL,"
    " started_utc_ms INTEGER NOT NULL, finished_utc_ms INTEGER NOT NULL,"
    " trace_file TEXT NOT NULL, trace_sha256 BLOB) STRICT;"
    "CREATE INDEX record_by_model ON record(model, position);"

    "CREATE TABLE metric(position INTEGER NOT NULL REFERENCES record, metric TEXT NOT NULL,"
    " value REAL, u REAL, PRIMARY KEY(position, metric)) STRICT, WITHOUT ROWID;"

    "CREATE TABLE repair(position INTEGER PRIMARY KEY REFERENCES fact, serial TEXT NOT NULL,"
    " at_utc_ms INTEGER NOT NULL) STRICT;"
    "CREATE INDEX repair_by_serial ON repair(serial, position);"

    "CREATE TABLE bench_event(position INTEGER PRIMARY KEY REFERENCES fact, bench TEXT NOT NULL,"
    " code TEXT NOT NULL, at_utc_ms INTEGER NOT NULL) STRICT;"
    "CREATE INDEX bench_event_by_bench ON bench_event(bench, position);"

    "CREATE TABLE signed_head(id INTEGER PRIMARY KEY, position INTEGER NOT NULL REFERENCES fact,"
    " head BLOB NOT NULL, public_key BLOB NOT NULL, signature BLOB NOT NULL, cause TEXT NOT NULL)"
    " STRICT;"

    APPEND_ONLY("fact") APPEND_ONLY("opened") APPEND_ONLY("definition") APPEND_ONLY("start")
        APPEND_ONLY("record") APPEND_ONLY("metric") APPEND_ONLY("repair") APPEND_ONLY("bench_event")
            APPEND_ONLY("signed_head");

// Facts of kinds 7 to 13.  `start` loses its second B-tree: found by (serial, attempt) alone.
constexpr const char* kTruth2 =
    "CREATE TABLE start_2(serial TEXT NOT NULL, attempt INTEGER NOT NULL,"
    " position INTEGER NOT NULL REFERENCES fact, model TEXT NOT NULL, bench TEXT NOT NULL,"
    " batch TEXT NOT NULL, purpose TEXT NOT NULL, started_utc_ms INTEGER NOT NULL,"
    " PRIMARY KEY(serial, attempt)) STRICT, WITHOUT ROWID;"
    "INSERT INTO start_2 SELECT serial, attempt, position, model, bench, batch, purpose,"
    " started_utc_ms FROM start;"
    "CREATE TABLE record_2(position INTEGER PRIMARY KEY REFERENCES fact,"
    " start_position INTEGER NOT NULL UNIQUE REFERENCES fact, serial TEXT NOT NULL,"
    " attempt INTEGER NOT NULL, model TEXT NOT NULL, bench TEXT NOT NULL, batch TEXT NOT NULL,"
    " purpose TEXT NOT NULL, verdict TEXT NOT NULL, standing TEXT NOT NULL,"
    " started_utc_ms INTEGER NOT NULL, finished_utc_ms INTEGER NOT NULL,"
    " trace_file TEXT NOT NULL, trace_sha256 BLOB) STRICT;"
    "INSERT INTO record_2 SELECT position, start_position, serial, attempt, model, bench, batch,"
    " purpose, verdict, standing, started_utc_ms, finished_utc_ms, trace_file, trace_sha256"
    " FROM record;"
    "DROP TABLE record; ALTER TABLE record_2 RENAME TO record;"
    "DROP TABLE start; ALTER TABLE start_2 RENAME TO start;"
    "CREATE INDEX record_by_model ON record(model, position);"

    "CREATE TABLE lots(position INTEGER PRIMARY KEY REFERENCES fact, subject_kind TEXT NOT NULL,"
    " subject TEXT NOT NULL, at_utc_ms INTEGER NOT NULL) STRICT;"
    "CREATE INDEX lots_by_subject ON lots(subject, subject_kind, position);"

    "CREATE TABLE lot(position INTEGER NOT NULL REFERENCES lots, part TEXT NOT NULL,"
    " lot TEXT NOT NULL, PRIMARY KEY(position, part, lot)) STRICT, WITHOUT ROWID;"
    "CREATE INDEX lot_by_lot ON lot(lot, part, position);"

    "CREATE TABLE disposition(position INTEGER PRIMARY KEY REFERENCES fact, serial TEXT NOT NULL,"
    " decision TEXT NOT NULL, at_utc_ms INTEGER NOT NULL) STRICT;"
    "CREATE INDEX disposition_by_serial ON disposition(serial, position);"

    "CREATE TABLE return_intake(position INTEGER PRIMARY KEY REFERENCES fact,"
    " serial TEXT NOT NULL, at_utc_ms INTEGER NOT NULL) STRICT;"
    "CREATE INDEX return_intake_by_serial ON return_intake(serial, position);"

    "CREATE TABLE alarm(position INTEGER PRIMARY KEY REFERENCES fact,"
    " opened INTEGER NOT NULL REFERENCES alarm, bench TEXT NOT NULL, code TEXT NOT NULL,"
    " state TEXT NOT NULL, at_utc_ms INTEGER NOT NULL) STRICT;"
    "CREATE INDEX alarm_by_opening ON alarm(opened, position);"

    "CREATE TABLE imported_test(position INTEGER PRIMARY KEY REFERENCES fact,"
    " source TEXT NOT NULL, line INTEGER NOT NULL, serial TEXT NOT NULL, model TEXT NOT NULL,"
    " bench TEXT NOT NULL, batch TEXT NOT NULL, tested_utc_ms INTEGER NOT NULL,"
    " UNIQUE(source, line)) STRICT;"
    "CREATE INDEX imported_test_by_serial ON imported_test(serial, position);"

    "CREATE TABLE trace_removed(position INTEGER PRIMARY KEY REFERENCES fact,"
    " record INTEGER NOT NULL UNIQUE REFERENCES record, at_utc_ms INTEGER NOT NULL) STRICT;"

    "CREATE TABLE bench_check(position INTEGER PRIMARY KEY REFERENCES fact, bench TEXT NOT NULL,"
    " kind TEXT NOT NULL, subject TEXT NOT NULL, outcome TEXT NOT NULL,"
    " at_utc_ms INTEGER NOT NULL) STRICT;"
    "CREATE INDEX bench_check_by_bench ON bench_check(bench, kind, position);"

    APPEND_ONLY("start") APPEND_ONLY("record") APPEND_ONLY("lots") APPEND_ONLY("lot")
        APPEND_ONLY("disposition") APPEND_ONLY("return_intake") APPEND_ONLY("alarm")
            APPEND_ONLY("imported_test") APPEND_ONLY("trace_removed") APPEND_ONLY("bench_check");

// Facts of kind 14; an entry is withdrawn once.
constexpr const char* kTruth3 =
    "CREATE TABLE withdrawal(position INTEGER PRIMARY KEY REFERENCES fact,"
    " withdrawn INTEGER NOT NULL UNIQUE REFERENCES fact, at_utc_ms INTEGER NOT NULL) STRICT;"
    "CREATE TRIGGER withdrawal_is_of_an_entry BEFORE INSERT ON withdrawal"
    " WHEN (SELECT kind FROM fact WHERE position = NEW.withdrawn) NOT IN (5, 6, 7, 8, 9, 11, 13)"
    " BEGIN SELECT RAISE(ABORT, 'S-6: only what a person entered can be withdrawn'); END;"

    APPEND_ONLY("withdrawal");

constexpr const char* kTrace1 =
    "CREATE TABLE file(number INTEGER PRIMARY KEY, month TEXT NOT NULL, store_id BLOB NOT NULL)"
    " STRICT;"
    "CREATE TABLE trace(id INTEGER PRIMARY KEY, start_position INTEGER NOT NULL,"
    " sha256 BLOB NOT NULL, bytes BLOB NOT NULL, UNIQUE(start_position, sha256)) STRICT;"
    "CREATE TABLE housekeeping(id INTEGER PRIMARY KEY, cause TEXT NOT NULL) STRICT;"

    APPEND_ONLY("file") APPEND_ONLY("trace") APPEND_ONLY("housekeeping");

#undef APPEND_ONLY

constexpr const char* kTruthMigrations[] = {kTruth1, kTruth2, kTruth3};
constexpr const char* kTraceMigrations[] = {kTrace1};

[[noreturn]] void wrong_version(const Database& database, const std::string& what) {
  throw StoreFault(StoreFault::Kind::wrong_version, database.path().string() + ": " + what);
}

[[noreturn]] void outdated(const Database& database, std::int64_t version) {
  wrong_version(database, "has schema version " + std::to_string(version) +
                              "; open it once with the daemon, which brings it up to date");
}

void require(Database& database, const std::string& pragma, const std::string& expected) {
  const std::string found = database.text("PRAGMA " + pragma);
  if (found != expected)
    wrong_version(database, "SQLite answers " + pragma + " = " + found + ", needed " + expected);
}

// EXTRA while the file changes to WAL: with FULL the removal of the rollback journal would not be
// synced, and after a power cut it could come back and undo the whole file.
void set_up(Database& database) {
  database.run("PRAGMA page_size=4096; PRAGMA synchronous=EXTRA");
  require(database, "journal_mode=WAL", "wal");
  database.run(
      "PRAGMA synchronous=FULL; PRAGMA recursive_triggers=ON;"
      "PRAGMA wal_autocheckpoint=0; PRAGMA journal_size_limit=67108864");
  require(database, "synchronous", "2");
  require(database, "recursive_triggers", "1");
  require(database, "wal_autocheckpoint", "0");
}

void require_foreign_keys(Database& database) {
  database.run("PRAGMA foreign_keys=ON");
  require(database, "foreign_keys", "1");
}

std::int64_t version_of(Database& database, const FileKind& kind) {
  const std::int64_t application = database.number("PRAGMA application_id");
  const std::int64_t version = database.number("PRAGMA user_version");
  const bool fresh = application == 0 && version == 0;
  if (application != kind.application_id && !fresh)
    wrong_version(database, "this file belongs to another program");
  const auto newest = static_cast<std::int64_t>(kind.migrations.size());
  if (version > newest)
    wrong_version(database, "has schema version " + std::to_string(version) +
                                ", this program knows " + std::to_string(newest) +
                                "; use the newer program");
  return version;
}

// Foreign keys are off while tables are rebuilt and checked as a whole before the commit.
void migrate(Database& database, const FileKind& kind, std::int64_t number) {
  database.run("PRAGMA foreign_keys=OFF");
  Transaction transaction(database);
  database.run(kind.migrations[static_cast<std::size_t>(number - 1)]);
  database.run("PRAGMA application_id=" + std::to_string(kind.application_id));
  database.run("PRAGMA user_version=" + std::to_string(number));
  require(database, "foreign_key_check", "");
  transaction.commit();
  require_foreign_keys(database);
}

// Through the one ear that a program may lend this library (sqlite_log.h): it may take minutes.
void say_that_it_runs(const Database& database, std::int64_t from, std::size_t to) {
  sqlite3_log(
      SQLITE_NOTICE, "%s is brought from version %lld to version %lld; wait until it is done",
      database.path().filename().c_str(), static_cast<long long>(from), static_cast<long long>(to));
}

}  // namespace

const FileKind kTruthFile{0x456e6774, kTruthMigrations};  // "Engt"
const FileKind kTraceFile{0x456e6772, kTraceMigrations};  // "Engr"

void prepare_for_writing(Database& database, const FileKind& kind) {
  std::int64_t version = version_of(database, kind);
  const bool older = version > 0 && version < static_cast<std::int64_t>(kind.migrations.size());
  if (older) say_that_it_runs(database, version, kind.migrations.size());
  set_up(database);
  require_foreign_keys(database);
  while (version < static_cast<std::int64_t>(kind.migrations.size()))
    migrate(database, kind, ++version);
}

std::int64_t prepare_for_checking(Database& database, const FileKind& kind) {
  database.run("PRAGMA query_only=ON; PRAGMA wal_autocheckpoint=0; PRAGMA cell_size_check=ON");
  const std::int64_t version = version_of(database, kind);
  if (version < 1) outdated(database, version);
  return version;
}

void prepare_for_reading(Database& database, const FileKind& kind) {
  const std::int64_t version = prepare_for_checking(database, kind);
  if (version != static_cast<std::int64_t>(kind.migrations.size())) outdated(database, version);
}

}  // namespace endgate::schema

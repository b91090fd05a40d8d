#include "schema/trend_tables.h"

#include "schema/packed_column.h"

namespace endgate::schema {
namespace {

constexpr const char* kTables =
    "CREATE TABLE taken(id INTEGER PRIMARY KEY CHECK(id = 1), store_id TEXT NOT NULL,"
    " position INTEGER NOT NULL, head BLOB NOT NULL) STRICT;"
    "CREATE TABLE name(id INTEGER PRIMARY KEY, text TEXT NOT NULL) STRICT;"
    "CREATE TABLE series(id INTEGER PRIMARY KEY, model TEXT NOT NULL, name TEXT NOT NULL,"
    " UNIQUE(model, name)) STRICT;"
    "CREATE TABLE segment(model TEXT NOT NULL, number INTEGER NOT NULL, rows INTEGER NOT NULL,"
    " newest_utc_ms INTEGER NOT NULL, PRIMARY KEY(model, number)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE packed(id INTEGER PRIMARY KEY, bytes BLOB NOT NULL) STRICT;"
    "CREATE TABLE rollup(series INTEGER NOT NULL, purpose INTEGER NOT NULL, span INTEGER NOT NULL,"
    " key INTEGER NOT NULL, bench INTEGER NOT NULL, n INTEGER NOT NULL, mean REAL NOT NULL,"
    " square REAL NOT NULL, least REAL NOT NULL, most REAL NOT NULL, bins BLOB NOT NULL,"
    " PRIMARY KEY(series, purpose, span, key, bench)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE used(bench INTEGER NOT NULL, block INTEGER NOT NULL, tests INTEGER NOT NULL,"
    " PRIMARY KEY(bench, block)) STRICT, WITHOUT ROWID;";

}  // namespace

void make_trend_tables(Database& database) {
  Transaction transaction(database);
  database.run(kTables);
  database.run("PRAGMA application_id=" + std::to_string(kTrendApplication));
  database.run("PRAGMA user_version=" + std::to_string(kTrendFormat));
  transaction.commit();
}

bool is_trend_file(Database& database) {
  return database.number("PRAGMA application_id") == kTrendApplication &&
         database.number("PRAGMA user_version") == kTrendFormat;
}

std::optional<TakenOver> taken_over(const Database& database) {
  const Statement statement(database, "SELECT store_id, position, head FROM taken");
  Rows rows = statement.query({});
  if (!rows.next()) return std::nullopt;
  return TakenOver{rows.text(0), rows.integer(1), rows.bytes(2)};
}

bool belongs_to(const TakenOver& taken, const StoreReader& truth) {
  if (taken.store_id != truth.store_id()) return false;
  const std::optional<Hash> head = truth.head_at(taken.position);
  return head && blob(*head) == taken.head;
}

void read_names(const Database& database, TrendNames& names) {
  const Statement statement(database, "SELECT text FROM name WHERE id > ? ORDER BY id");
  for (Rows rows = statement.query({static_cast<std::int64_t>(names.size())}); rows.next();)
    names.add(rows.text(0));
}

TrendRollup rollup_in(const Rows& rows, int column) {
  TrendRollup rollup{.n = rows.integer(column),
                     .mean = rows.real(column + 1),
                     .square = rows.real(column + 2),
                     .least = rows.real(column + 3),
                     .most = rows.real(column + 4)};
  take_bins(rollup, rows.view(column + 5));
  return rollup;
}

void unpack_into(TrendSegment& segment, const std::string& column,
                 std::span<const std::uint8_t> bytes) {
  switch (kind_of_column(column)) {
    case ColumnKind::texts:
      segment.serials = unpack_texts(bytes, segment.rows);
      return;
    case ColumnKind::reals: {
      auto& values = segment.reals[column];
      values.resize(segment.rows);
      return unpack(bytes, std::span<double>(values));
    }
    case ColumnKind::integers: {
      auto& values = segment.integers[column];
      values.resize(segment.rows);
      return unpack(bytes, std::span<std::int64_t>(values));
    }
  }
}

}  // namespace endgate::schema

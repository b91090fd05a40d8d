#include <algorithm>
#include <tuple>

#include "schema/packed_column.h"
#include "schema/trend_file.h"
#include "schema/trend_tables.h"

namespace endgate::schema {
namespace {

constexpr std::int64_t kDayMs = 86'400'000;

std::unique_ptr<Database> opened(const std::filesystem::path& path) {
  auto database = std::make_unique<Database>(path, Database::Mode::read_write);
  // NORMAL: a power cut may take the last commits away, never tear the file.
  database->run("PRAGMA page_size=16384");
  if (database->text("PRAGMA journal_mode=WAL") != "wal")
    throw StoreFault(StoreFault::Kind::io, path.string() + " does not go over to a log");
  database->run("PRAGMA synchronous=NORMAL; PRAGMA journal_size_limit=16777216");
  if (!is_trend_file(*database)) make_trend_tables(*database);
  return database;
}

// A file that is none of ours, damaged or of another format goes (D-4).
std::unique_ptr<Database> opened_or_made_anew(const std::filesystem::path& folder) {
  const std::filesystem::path path = folder / kTrendFileName;
  try {
    return opened(path);
  } catch (const StoreFault& fault) {
    if (fault.kind() != StoreFault::Kind::damaged) throw;
  }
  delete_trend_file(folder);
  return opened(path);
}

}  // namespace

void delete_trend_file(const std::filesystem::path& folder) {
  for (const char* tail : {"", "-wal", "-shm"}) {
    std::error_code error;
    std::filesystem::remove(folder / (std::string(kTrendFileName) + tail), error);
    if (error)
      throw StoreFault(StoreFault::Kind::io, "cannot delete " + (folder / kTrendFileName).string() +
                                                 tail + ": " + error.message());
  }
}

struct TrendWriter::Impl {
  explicit Impl(const std::filesystem::path& folder_in)
      : folder(folder_in), database(opened_or_made_anew(folder)) {}

  Progress catch_up(const StoreReader& truth, std::size_t records_at_most);
  void forget();

  std::filesystem::path folder;
  std::unique_ptr<Database> database;

 private:
  struct Open {
    std::int64_t number = 0;
    std::int64_t newest_utc_ms = 0;
    TrendSegment segment{};
  };
  // Series, purpose, span, key, bench.
  using RollupKey = std::tuple<std::int64_t, std::int64_t, RollupSpan, std::int64_t, std::int64_t>;

  void empty();
  void take(const StoredRecord& stored);
  void roll_up(const StoredRecord& stored);
  Open& open_of(const std::string& model);
  Open read_open(const std::string& model);
  void read_columns(const std::string& model, Open& open);
  void write(const std::string& model, const Open& open);
  void write_column(std::int64_t series, std::int64_t number, const Bytes& bytes);
  void write_names();
  void write_rollups();
  void write_use();
  void write_taken(const StoreReader& truth, Position position);
  std::int64_t series_of(const std::string& model, const std::string& name);

  TrendNames names{};
  std::size_t names_written = 0;
  bool names_known = false;
  std::map<std::string, Open> open{};  // by model
  std::map<RollupKey, TrendRollup> rollups{};
  // Tests not written yet, by bench and block.
  std::map<std::pair<std::int64_t, std::int64_t>, std::int64_t> used{};
  std::map<std::pair<std::string, std::string>, std::int64_t> series{};
};

// After a fault nothing in memory counts: the transaction was rolled back.
void TrendWriter::Impl::forget() {
  names = TrendNames();
  names_known = false;
  open.clear();
  rollups.clear();
  used.clear();
  series.clear();
}

void TrendWriter::Impl::empty() {
  forget();
  for (const char* table : {"taken", "name", "series", "segment", "packed", "rollup", "used"})
    database->run(std::string("DELETE FROM ") + table);
}

TrendWriter::Progress TrendWriter::Impl::catch_up(const StoreReader& truth,
                                                  std::size_t records_at_most) {
  Progress progress{.last_position = truth.last_position()};
  Transaction transaction(*database);
  const std::optional<TakenOver> taken = taken_over(*database);
  if (taken && !belongs_to(*taken, truth)) empty(), progress.emptied = true;
  progress.position = taken && !progress.emptied ? taken->position : 0;
  if (progress.done() && !progress.emptied) return progress;
  if (!names_known) read_names(*database, names), names_written = names.size();
  names_known = true;

  std::size_t left = std::max<std::size_t>(1, records_at_most);
  const Position until = progress.last_position;
  const bool all = truth.for_each_record_behind(progress.position, [&](const StoredRecord& stored) {
    if (stored.position > until) return false;
    take(stored);
    progress.position = stored.position;
    return --left > 0;
  });
  if (all || left > 0) progress.position = until;
  for (const auto& [model, segment] : open) write(model, segment);
  write_rollups();
  write_use();
  write_names();
  write_taken(truth, progress.position);
  transaction.commit();
  return progress;
}

void TrendWriter::Impl::take(const StoredRecord& stored) {
  const std::string& model = stored.record.start.model;
  Open& here = open_of(model);
  here.segment.append(stored, names);
  here.newest_utc_ms = std::max(here.newest_utc_ms, stored.record.start.at.utc_ms);
  roll_up(stored);
  ++used[{names.id_of(stored.record.start.bench), stored.position / kUseBlock}];
  if (here.segment.rows < kSegmentRows) return;
  write(model, here);
  here = Open{.number = here.number + 1};
}

void TrendWriter::Impl::roll_up(const StoredRecord& stored) {
  const Record& record = stored.record;
  if (record.verdict == "void") return;
  const std::int64_t purpose = names.id_of(record.start.purpose);
  const std::int64_t batch = names.id_of(record.start.batch);
  const std::int64_t bench = names.id_of(record.start.bench);
  const std::int64_t day = record.start.at.utc_ms / kDayMs;
  for (const MetricValue& metric : record.metrics) {
    if (!metric.value) continue;
    const std::int64_t of = series_of(record.start.model, metric.id + "/value");
    rollups[{of, purpose, RollupSpan::batch, batch, 0}].add(*metric.value);
    rollups[{of, purpose, RollupSpan::bench_day, day, bench}].add(*metric.value);
  }
}

TrendWriter::Impl::Open& TrendWriter::Impl::open_of(const std::string& model) {
  const auto found = open.find(model);
  if (found != open.end()) return found->second;
  return open.emplace(model, read_open(model)).first->second;
}

TrendWriter::Impl::Open TrendWriter::Impl::read_open(const std::string& model) {
  Open found;
  {
    const Statement newest(*database,
                           "SELECT number, rows, newest_utc_ms FROM segment WHERE model = ?"
                           " ORDER BY number DESC LIMIT 1");
    Rows rows = newest.query({model});
    if (!rows.next()) return found;
    found.number = rows.integer(0);
    found.segment.rows = static_cast<std::size_t>(rows.integer(1));
    found.newest_utc_ms = rows.integer(2);
  }
  if (found.segment.rows >= kSegmentRows) return {.number = found.number + 1};
  read_columns(model, found);
  return found;
}

void TrendWriter::Impl::read_columns(const std::string& model, Open& open_segment) {
  const Statement columns(*database, "SELECT id, name FROM series WHERE model = ?");
  const Statement packed(*database, "SELECT bytes FROM packed WHERE id = ?");
  for (Rows rows = columns.query({model}); rows.next();) {
    Rows found = packed.query({packed_id(rows.integer(0), open_segment.number)});
    if (found.next()) unpack_into(open_segment.segment, rows.text(1), found.bytes(0));
  }
}

std::int64_t TrendWriter::Impl::series_of(const std::string& model, const std::string& name) {
  const auto known = series.find({model, name});
  if (known != series.end()) return known->second;
  std::int64_t id = 0;
  {
    const Statement asked(*database, "SELECT id FROM series WHERE model = ? AND name = ?");
    Rows rows = asked.query({model, name});
    if (rows.next()) id = rows.integer(0);
  }
  if (id == 0) {
    Statement(*database, "INSERT INTO series(model, name) VALUES(?, ?)").execute({model, name});
    id = sqlite3_last_insert_rowid(database->raw());
  }
  series[{model, name}] = id;
  return id;
}

void TrendWriter::Impl::write(const std::string& model, const Open& here) {
  const TrendSegment& segment = here.segment;
  if (segment.rows == 0) return;
  Statement(*database,
            "INSERT OR REPLACE INTO segment(model, number, rows, newest_utc_ms) VALUES(?, ?, ?, ?)")
      .execute({model, here.number, static_cast<std::int64_t>(segment.rows), here.newest_utc_ms});
  for (const auto& [name, column] : segment.integers)
    write_column(series_of(model, name), here.number, pack(column));
  for (const auto& [name, column] : segment.reals)
    write_column(series_of(model, name), here.number, pack(column));
  write_column(series_of(model, "serial"), here.number, pack(segment.serials));
}

void TrendWriter::Impl::write_column(std::int64_t of, std::int64_t number, const Bytes& bytes) {
  const Statement put(*database, "INSERT OR REPLACE INTO packed(id, bytes) VALUES(?, ?)");
  put.execute({packed_id(of, number), bytes});
}

void TrendWriter::Impl::write_names() {
  const Statement put(*database, "INSERT INTO name(id, text) VALUES(?, ?)");
  for (; names_written < names.size(); ++names_written) {
    const auto id = static_cast<std::int64_t>(names_written) + 1;
    put.execute({id, std::string(names.text_of(id))});
  }
}

void TrendWriter::Impl::write_rollups() {
  const Statement get(*database,
                      "SELECT n, mean, square, least, most, bins FROM rollup WHERE series = ?"
                      " AND purpose = ? AND span = ? AND key = ? AND bench = ?");
  const Statement put(*database,
                      "INSERT OR REPLACE INTO rollup VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
  for (const auto& [key, fresh] : rollups) {
    const auto& [of, purpose, span, at, bench] = key;
    const auto span_number = static_cast<std::int64_t>(span);
    TrendRollup sum;
    {
      Rows rows = get.query({of, purpose, span_number, at, bench});
      if (rows.next()) sum = rollup_in(rows, 0);
    }
    sum.add(fresh);
    put.execute({of, purpose, span_number, at, bench, sum.n, sum.mean, sum.square, sum.least,
                 sum.most, bins_bytes(sum)});
  }
  rollups.clear();
}

// Blocks come in order, so each goes on from the one before it.
void TrendWriter::Impl::write_use() {
  const Statement get(*database,
                      "SELECT tests FROM used WHERE bench = ? AND block <= ?"
                      " ORDER BY block DESC LIMIT 1");
  const Statement put(*database,
                      "INSERT OR REPLACE INTO used(bench, block, tests) VALUES(?, ?, ?)");
  for (const auto& [key, fresh] : used) {
    const auto& [bench, block] = key;
    std::int64_t before = 0;
    {
      Rows rows = get.query({bench, block});
      if (rows.next()) before = rows.integer(0);
    }
    put.execute({bench, block, before + fresh});
  }
  used.clear();
}

void TrendWriter::Impl::write_taken(const StoreReader& truth, Position position) {
  const std::optional<Hash> head = truth.head_at(position);
  if (!head) return;  // an empty truth
  Statement(*database, "INSERT OR REPLACE INTO taken(id, store_id, position, head) VALUES(1,?,?,?)")
      .execute({truth.store_id(), position, blob(*head)});
}

TrendWriter::TrendWriter(const std::filesystem::path& folder)
    : impl_(std::make_unique<Impl>(folder)) {}

// A log that stays behind would be read again by whoever opens the file next.
TrendWriter::~TrendWriter() {
  sqlite3_wal_checkpoint_v2(impl_->database->raw(), nullptr, SQLITE_CHECKPOINT_TRUNCATE, nullptr,
                            nullptr);
}

TrendWriter::Progress TrendWriter::catch_up(const StoreReader& truth, std::size_t records_at_most) {
  try {
    return impl_->catch_up(truth, records_at_most);
  } catch (const StoreFault& fault) {
    impl_->forget();
    throw;
  }
}

}  // namespace endgate::schema

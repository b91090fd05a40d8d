#include <algorithm>

#include "schema/migrations.h"
#include "schema/open_starts.h"
#include "schema/store_reader_impl.h"

namespace endgate::schema {
namespace {

std::filesystem::path truth_in(const std::filesystem::path& folder) {
  const std::filesystem::path path = folder / "records.db";
  if (std::filesystem::exists(path)) return path;
  throw StoreFault(StoreFault::Kind::io, "there is no store in " + folder.string() +
                                             " (records.db is missing); check the data folder");
}

template <std::size_t N>
std::array<std::uint8_t, N> fixed(const Bytes& bytes, const char* what) {
  std::array<std::uint8_t, N> value{};
  if (bytes.size() != N)
    throw StoreFault(StoreFault::Kind::damaged,
                     std::string("a stored ") + what + " has the wrong length");
  std::copy(bytes.begin(), bytes.end(), value.begin());
  return value;
}

// Columns position, head, bytes.
StoredRecord stored_record(const Rows& rows) {
  return {.position = rows.integer(0),
          .head = fixed<32>(rows.bytes(1), "head"),
          .record = decode_as<Record>(rows.bytes(2))};
}

constexpr const char* kRecords =
    "SELECT f.position, f.head, f.bytes FROM record r JOIN fact f ON f.position = r.position ";

std::optional<double> real_in(const Rows& rows, int column) {
  const Value value = rows.value(column);
  if (const auto* real = std::get_if<double>(&value)) return *real;
  return std::nullopt;
}

}  // namespace

StoreReader::Impl::Impl(const std::filesystem::path& folder_in)
    : folder(folder_in),
      database(truth_in(folder_in), Database::Mode::read_only),
      traces(folder_in) {
  prepare_for_reading(database, kTruthFile);
}

std::vector<StoredRecord> StoreReader::Impl::records(const std::string& rest,
                                                     const std::vector<Value>& parameters) const {
  const Statement statement(database, kRecords + rest);
  std::vector<StoredRecord> found;
  for (Rows rows = statement.query(parameters); rows.next();) found.push_back(stored_record(rows));
  return found;
}

StoreReader::StoreReader(const std::filesystem::path& folder)
    : impl_(std::make_unique<Impl>(folder)) {}

StoreReader::~StoreReader() = default;

const std::filesystem::path& StoreReader::folder() const { return impl_->folder; }

std::string StoreReader::store_id() const {
  const Statement statement(impl_->database,
                            "SELECT store_id FROM opened ORDER BY position DESC LIMIT 1");
  Rows rows = statement.query({});
  return rows.next() ? hex_of(rows.bytes(0)) : std::string();
}

std::vector<StoredRecord> StoreReader::records_of(const std::string& serial) const {
  return impl_->records(
      "JOIN start s ON s.position = r.start_position WHERE s.serial = ? ORDER BY r.position",
      {serial});
}

std::optional<StoredRecord> StoreReader::record_at(Position position) const {
  auto found = impl_->records("WHERE r.position = ?", {position});
  if (found.empty()) return std::nullopt;
  return std::move(found.front());
}

std::vector<StoredRecord> StoreReader::latest_records(std::size_t count,
                                                      const std::string& bench) const {
  const auto limit = static_cast<std::int64_t>(count);
  if (bench.empty()) return impl_->records("ORDER BY r.position DESC LIMIT ?", {limit});
  return impl_->records("WHERE r.bench = ? ORDER BY r.position DESC LIMIT ?", {bench, limit});
}

void StoreReader::for_each_record(const std::function<bool(const StoredRecord&)>& visit) const {
  for_each_record_behind(0, visit);
}

bool StoreReader::for_each_record_behind(
    Position position, const std::function<bool(const StoredRecord&)>& visit) const {
  const Statement statement(impl_->database,
                            std::string(kRecords) + "WHERE r.position > ? ORDER BY r.position");
  for (Rows rows = statement.query({position}); rows.next();)
    if (!visit(stored_record(rows))) return false;
  return true;
}

std::optional<std::vector<std::uint8_t>> StoreReader::trace_bytes_of(const Record& record) const {
  if (!record.trace_sha256) return std::nullopt;
  return impl_->traces.bytes_of(record.trace_file, record.start_position, *record.trace_sha256);
}

std::optional<Trace> StoreReader::trace_of(const StoredRecord& record) const {
  const auto bytes = trace_bytes_of(record.record);
  if (!bytes) return std::nullopt;
  Trace trace = decode(*bytes);
  if (hash_of(trace) != *record.record.trace_sha256)
    throw StoreFault(StoreFault::Kind::damaged,
                     "the trace of record " + std::to_string(record.position) +
                         " does not match its hash; run `endgate verify --traces`");
  return trace;
}

std::vector<StoredStart> StoreReader::starts_without_record() const {
  const Statement statement(impl_->database, kOpenStarts);
  std::vector<StoredStart> found;
  for (Rows rows = statement.query({complete_up_to(impl_->database)}); rows.next();)
    found.push_back({rows.integer(0), decode_as<TestStart>(rows.bytes(1))});
  return found;
}

std::int64_t StoreReader::last_attempt(const std::string& serial) const {
  return impl_->number("SELECT MAX(attempt) FROM start WHERE serial = ?", {serial});
}

std::vector<Kept<Repair>> StoreReader::repairs_of(const std::string& serial) const {
  return impl_->kept<Repair>("repair", "x.serial = ?", {serial});
}

Position StoreReader::last_repair_position(const std::string& serial) const {
  return impl_->number(
      std::string("SELECT MAX(position) FROM repair x WHERE serial = ? AND ") + kNotWithdrawn,
      {serial});
}

std::vector<Position> StoreReader::repair_positions_of(const std::string& serial) const {
  std::vector<Position> found;
  for (const Kept<Repair>& kept : repairs_of(serial)) found.push_back(kept.position);
  return found;
}

std::optional<Definition> StoreReader::current_definition(const std::string& kind,
                                                          const std::string& subject) const {
  auto found = impl_->facts<Definition>(
      "SELECT f.bytes FROM definition d JOIN fact f ON f.position = d.position"
      " WHERE d.kind = ? AND d.subject = ? ORDER BY d.version DESC LIMIT 1",
      {kind, subject});
  if (found.empty()) return std::nullopt;
  return std::move(found.front());
}

std::vector<Definition> StoreReader::definitions() const {
  return impl_->facts<Definition>(
      "SELECT f.bytes FROM definition d JOIN fact f ON f.position = d.position ORDER BY d.position",
      {});
}

std::int64_t StoreReader::record_count() const {
  return impl_->number("SELECT COUNT(*) FROM record", {});
}

std::vector<std::string> StoreReader::subjects_with_lots(const std::string& subject_kind) const {
  const Statement statement(impl_->database, std::string("SELECT DISTINCT subject FROM lots x"
                                                         " WHERE subject_kind = ? AND ") +
                                                 kNotWithdrawn);
  std::vector<std::string> subjects;
  for (Rows rows = statement.query({subject_kind}); rows.next();) subjects.push_back(rows.text(0));
  return subjects;
}

// Not only one: a test that was cut off by a restart does not say where it ran.
bool StoreReader::holds_simulated() const {
  constexpr std::int64_t kLook = 32;
  for (const char* order : {"ORDER BY r.position LIMIT ?", "ORDER BY r.position DESC LIMIT ?"})
    for (const StoredRecord& stored : impl_->records(order, {kLook}))
      if (stored.record.simulated) return true;
  return false;
}

std::int64_t StoreReader::starts_on(const std::string& bench, Position after,
                                    std::int64_t since_utc_ms) const {
  return impl_->number(
      "SELECT COUNT(*) FROM start WHERE position > ? AND bench = ? AND started_utc_ms >= ?",
      {after, bench, since_utc_ms});
}

std::vector<StoreReader::TrendRow> StoreReader::trend(const std::string& model,
                                                      const std::string& metric,
                                                      std::size_t count) const {
  const Statement statement(
      impl_->database,
      "SELECT r.position, r.serial, r.batch, r.bench, r.verdict, r.purpose, r.attempt,"
      " r.started_utc_ms, m.value, m.u FROM record r INDEXED BY record_by_model"
      " CROSS JOIN metric m ON m.position = r.position AND m.metric = ?"
      " WHERE r.model = ? ORDER BY r.position DESC LIMIT ?");
  std::vector<TrendRow> found;
  for (Rows rows = statement.query({metric, model, static_cast<std::int64_t>(count)}); rows.next();)
    found.push_back({.position = rows.integer(0),
                     .serial = rows.text(1),
                     .batch = rows.text(2),
                     .bench = rows.text(3),
                     .verdict = rows.text(4),
                     .purpose = rows.text(5),
                     .attempt = rows.integer(6),
                     .started_utc_ms = rows.integer(7),
                     .value = real_in(rows, 8),
                     .u = real_in(rows, 9)});
  std::reverse(found.begin(), found.end());
  return found;
}

std::optional<StoreReader::SealedFact> StoreReader::sealed_fact(Position position) const {
  const Statement statement(
      impl_->database,
      "SELECT f.bytes, f.head, before.head FROM fact f"
      " LEFT JOIN fact before ON before.position = f.position - 1 WHERE f.position = ?");
  Rows rows = statement.query({position});
  if (!rows.next()) return std::nullopt;
  SealedFact fact{
      .position = position, .head = fixed<32>(rows.bytes(1), "head"), .bytes = rows.bytes(0)};
  if (position > 1) fact.previous_head = fixed<32>(rows.bytes(2), "head");
  return fact;
}

Position StoreReader::last_position() const {
  return impl_->number("SELECT MAX(position) FROM fact", {});
}

std::optional<Hash> StoreReader::head_at(Position position) const {
  const Statement statement(impl_->database, "SELECT head FROM fact WHERE position = ?");
  Rows rows = statement.query({position});
  if (!rows.next()) return std::nullopt;
  return fixed<32>(rows.bytes(0), "head");
}

std::optional<SignedHead> StoreReader::signed_head() const {
  const Statement statement(impl_->database,
                            "SELECT position, head, public_key, signature FROM signed_head"
                            " ORDER BY id DESC LIMIT 1");
  Rows rows = statement.query({});
  if (!rows.next()) return std::nullopt;
  return SignedHead{.position = rows.integer(0),
                    .head = fixed<32>(rows.bytes(1), "head"),
                    .public_key = fixed<32>(rows.bytes(2), "public key"),
                    .signature = fixed<64>(rows.bytes(3), "signature")};
}

}  // namespace endgate::schema

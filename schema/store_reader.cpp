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

// How far back a bench's newest records are looked for.  There is no index by bench: for one that
// was never used every record would be read, at each start of the service.
constexpr Position kNewestFacts = 4096;

constexpr const char* kRecords =
    "SELECT f.position, f.head, f.bytes FROM record r JOIN fact f ON f.position = r.position ";

}  // namespace

StoreReader::Impl::Impl(const std::filesystem::path& folder_in, Deadline deadline_in)
    : folder(folder_in),
      deadline(deadline_in),
      database(truth_in(folder_in), Database::Mode::read_only),
      traces(folder_in) {
  prepare_for_reading(database, kTruthFile);
  database.give_up_at(deadline);
}

std::vector<StoredRecord> StoreReader::Impl::records(const std::string& rest,
                                                     const std::vector<Value>& parameters) const {
  const Statement statement(database, kRecords + rest);
  std::vector<StoredRecord> found;
  for (Rows rows = statement.query(parameters); rows.next();) found.push_back(stored_record(rows));
  return found;
}

StoreReader::StoreReader(const std::filesystem::path& folder, Deadline deadline)
    : impl_(std::make_unique<Impl>(folder, deadline)) {}

StoreReader::~StoreReader() = default;

const std::filesystem::path& StoreReader::folder() const { return impl_->folder; }

Deadline StoreReader::deadline() const { return impl_->deadline; }

void StoreReader::hold_to_deadline() const {
  if (is_over(impl_->deadline))
    throw StoreFault(StoreFault::Kind::out_of_time,
                     "a question to " + impl_->folder.string() + " took too long; ask about fewer");
}

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
  return impl_->records(
      "WHERE r.bench = ? AND r.position > (SELECT MAX(position) FROM record) - ?"
      " ORDER BY r.position DESC LIMIT ?",
      {bench, kNewestFacts, limit});
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

std::int64_t StoreReader::records_on(const std::string& bench, Position after,
                                     Position up_to) const {
  return impl_->number(
      "SELECT COUNT(*) FROM record WHERE position > ? AND position <= ? AND bench = ?",
      {after, up_to, bench});
}

std::int64_t StoreReader::records_since(const std::string& bench, std::int64_t since_utc_ms) const {
  const Position before = impl_->number(
      "SELECT position FROM record WHERE started_utc_ms < ? ORDER BY position DESC LIMIT 1",
      {since_utc_ms});
  return records_on(bench, before, last_position());
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

std::optional<StoreOpened> StoreReader::opened_before(Position position) const {
  return first_of(impl_->facts<StoreOpened>(
      "SELECT f.bytes FROM opened o JOIN fact f ON f.position = o.position"
      " WHERE o.position <= ? ORDER BY o.position DESC LIMIT 1",
      {position}));
}

}  // namespace endgate::schema

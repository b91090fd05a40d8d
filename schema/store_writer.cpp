#include <algorithm>
#include <chrono>
#include <map>

#include "schema/fact_fields.h"
#include "schema/index_rows.h"
#include "schema/migrations.h"
#include "schema/moved_mark.h"
#include "schema/open_starts.h"
#include "schema/owner_lock.h"
#include "schema/signing_key.h"
#include "schema/store.h"
#include "schema/trace_files.h"
#include "schema/wal_gauge.h"
#include "schema/writer_authorizer.h"

namespace endgate::schema {
namespace {

constexpr Position kSignEvery = 256;  // facts, besides opening, checkpoint and export

std::filesystem::path made(const std::filesystem::path& folder) {
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (!std::filesystem::is_directory(folder))
    throw StoreFault(StoreFault::Kind::io,
                     "cannot make the data folder " + folder.string() + ": " + error.message());
  return folder;
}

// Asked once the folder is owned: a move that was under way has set its mark by then.
const std::filesystem::path& not_moved(const std::filesystem::path& folder) {
  refuse_moved(folder);
  return folder;
}

WallClock now() {
  using namespace std::chrono;
  return {.utc_ms = duration_cast<milliseconds>(system_clock::now().time_since_epoch()).count()};
}

StoreId random_id() {
  start_crypto();
  StoreId id{};
  randombytes_buf(id.data(), id.size());
  return id;
}

[[noreturn]] void refuse(const std::string& what) {
  throw StoreFault(StoreFault::Kind::refused, what);
}

}  // namespace

struct StoreWriter::Impl {
  Impl(const std::filesystem::path& folder, bool restored);
  ~Impl();

  Position append(const Fact& fact);         // in a transaction of its own
  Position insert_sealed(const Fact& fact);  // in the one that is open
  template <class Kind>
  Position append_all(std::span<const Kind> facts);  // or none
  void name_trace(TraceRemoved& removed) const;
  void sign(Position position, const Hash& head, const char* cause);
  void sign_last(const char* cause);
  void sign_complete();
  void refuse_wrong_start(const Record& record) const;
  [[nodiscard]] std::int64_t next_version(const Definition& definition) const;

  // Runs `work` unless the disk has failed before; remembers when it fails now.
  template <class Work>
  auto guarded(Work work);

  std::filesystem::path folder;
  OwnerLock lock;
  Database database;
  std::optional<WalGauge> gauge;
  StoreId store_id{};
  std::optional<SigningKey> key;
  std::optional<OpenStarts> open_starts;
  Position signed_complete = 0, key_since = 0;
  std::optional<TraceFiles> traces;
  std::map<std::string, Statement> inserts;  // by table
  bool disk_failed = false;
  Position newest = 0;  // committed

 private:
  struct Last {
    Position position = 0;
    Hash head{};
  };
  [[nodiscard]] Last last() const;
  void open_identity();
  void open_restored();
  void insert(const IndexRow& row);
  void insert_fact(Position position, FactKind kind, const Bytes& bytes, const Hash& head);
};

StoreWriter::Impl::Impl(const std::filesystem::path& folder_in, bool restored)
    : folder(made(folder_in)),
      lock(folder),
      database(not_moved(folder) / "records.db", Database::Mode::read_write) {
  prepare_for_writing(database, kTruthFile);
  gauge.emplace(database);
  forbid_all_but_appending(database);
  open_starts.emplace(database);
  signed_complete = complete_up_to(database);
  newest = last().position;
  restored ? open_restored() : open_identity();
  traces.emplace(folder, store_id);
}

StoreWriter::Impl::~Impl() {
  if (disk_failed) return;
  try {
    gauge->checkpoint_and_truncate();
  } catch (const StoreFault&) {  // the log keeps what the file did not take
  }
}

// The id comes from the newest `store_opened`; a store without one, or whose key is gone, gets one.
void StoreWriter::Impl::open_identity() {
  key = SigningKey::load(folder);
  const Statement newest(database,
                         "SELECT store_id, public_key FROM opened ORDER BY position DESC LIMIT 1");
  Bytes known_id;
  Bytes known_key;
  {
    Rows rows = newest.query({});
    if (rows.next()) known_id = rows.bytes(0), known_key = rows.bytes(1);
  }
  store_id = known_id.empty() ? random_id() : StoreId{};
  if (known_id.size() == store_id.size()) std::copy_n(known_id.begin(), 16, store_id.begin());
  if (!key) key = SigningKey::create(folder);
  if (known_key != blob(key->public_key()))
    key_since =
        append(StoreOpened{.store_id = store_id, .public_key = key->public_key(), .at = now()});
  sign_last("opened");
}

// From here on the copy is a store of its own: what the old one goes on to append has other heads.
void StoreWriter::Impl::open_restored() {
  Bytes old_id;
  {
    const Statement newest(database, "SELECT store_id FROM opened ORDER BY position DESC LIMIT 1");
    Rows rows = newest.query({});
    if (!rows.next()) refuse("the copy in " + folder.string() + " was never a store");
    old_id = rows.bytes(0);
  }
  store_id = random_id();
  key = SigningKey::create(folder);
  key_since = append(StoreOpened{.store_id = store_id,
                                 .public_key = key->public_key(),
                                 .restored_from = hex_of(old_id),
                                 .restored_to_position = last().position,
                                 .at = now()});
  sign_last("opened");
}

template <class Work>
auto StoreWriter::Impl::guarded(Work work) {
  if (disk_failed)
    throw StoreFault(StoreFault::Kind::io,
                     "the disk under " + folder.string() +
                         " has failed; nothing is stored until the service is started again");
  try {
    return work();
  } catch (const StoreFault& fault) {
    disk_failed = fault.kind() == StoreFault::Kind::io;
    throw;
  }
}

StoreWriter::Impl::Last StoreWriter::Impl::last() const {
  const Statement statement(database,
                            "SELECT position, head FROM fact ORDER BY position DESC LIMIT 1");
  Rows rows = statement.query({});
  Last found;
  if (!rows.next()) return found;
  found.position = rows.integer(0);
  const Bytes head = rows.bytes(1);
  if (head.size() != found.head.size())
    throw StoreFault(StoreFault::Kind::damaged, database.path().string() + ": the head of fact " +
                                                    std::to_string(found.position) +
                                                    " is not a hash; run `endgate verify`");
  std::copy(head.begin(), head.end(), found.head.begin());
  return found;
}

Position StoreWriter::Impl::append(const Fact& fact) {
  Transaction transaction(database);
  const Position position = insert_sealed(fact);
  transaction.commit();
  newest = position;
  if (std::holds_alternative<TestStart>(fact)) open_starts->began(position);
  if (const auto* record = std::get_if<Record>(&fact)) open_starts->kept(record->start_position);
  return position;
}

template <class Kind>
Position StoreWriter::Impl::append_all(std::span<const Kind> facts) {
  Position position = 0;
  Transaction transaction(database);
  for (const Kind& fact : facts) position = insert_sealed(fact);
  transaction.commit();
  newest = std::max(newest, position);
  return position;
}

Position StoreWriter::Impl::insert_sealed(const Fact& fact) {
  const Bytes bytes = encode(fact);
  const Last before = last();
  const Position position = before.position + 1;
  const Hash head = head_of(before.head, position, leaf_of(bytes));
  insert_fact(position, kind_of(fact), bytes, head);
  for (const IndexRow& row : index_rows(position, fact)) insert(row);
  if (position % kSignEvery == 0) sign(position, head, "count");
  return position;
}

void StoreWriter::Impl::insert_fact(Position position, FactKind kind, const Bytes& bytes,
                                    const Hash& head) {
  insert({"fact",
          {"position", "kind", "bytes", "head"},
          {position, static_cast<std::int64_t>(kind), bytes, blob(head)}});
}

void StoreWriter::Impl::insert(const IndexRow& row) {
  auto found = inserts.find(row.table);
  if (found == inserts.end()) {
    std::string names;
    std::string marks;
    for (const char* column : row.columns) {
      names += (names.empty() ? "" : ", ") + std::string(column);
      marks += marks.empty() ? "?" : ", ?";
    }
    const std::string sql = "INSERT INTO " + row.table + "(" + names + ") VALUES(" + marks + ")";
    found = inserts.emplace(row.table, Statement(database, sql)).first;
  }
  found->second.execute(row.values);
}

void StoreWriter::Impl::sign(Position position, const Hash& head, const char* cause) {
  const Signature signature = key->sign(signed_message(store_id, position, head));
  insert({"signed_head",
          {"position", "head", "public_key", "signature", "cause"},
          {position, blob(head), blob(key->public_key()), blob(signature), std::string(cause)}});
}

// Says how far back the next opening has to look for tests that were cut off.
void StoreWriter::Impl::sign_complete() {
  const Position complete = open_starts->complete(last().position);
  if (complete <= signed_complete || complete < key_since) return;
  const Statement statement(database, "SELECT head FROM fact WHERE position = ?");
  Hash head{};
  {
    Rows rows = statement.query({complete});
    if (!rows.next() || rows.view(0).size() != head.size()) return;
    std::ranges::copy(rows.view(0), head.begin());
  }
  sign(complete, head, "complete");
  signed_complete = complete;
}

void StoreWriter::Impl::sign_last(const char* cause) {
  Transaction transaction(database);
  sign_complete();
  const Last newest = last();
  sign(newest.position, newest.head, cause);
  transaction.commit();
}

void StoreWriter::Impl::refuse_wrong_start(const Record& record) const {
  const Statement statement(database, "SELECT bytes FROM fact WHERE position = ?");
  Rows rows = statement.query({record.start_position});
  if (!rows.next() || rows.bytes(0) != encode(Fact(record.start)))
    refuse("the record of " + record.start.serial + " names fact " +
           std::to_string(record.start_position) + " as its start, which says something else");
}

void StoreWriter::Impl::name_trace(TraceRemoved& removed) const {
  const Statement statement(database,
                            "SELECT trace_file, trace_sha256 FROM record WHERE position = ?");
  Rows rows = statement.query({removed.record});
  if (!rows.next() || rows.view(1).size() != removed.trace_sha256.size())
    refuse("fact " + std::to_string(removed.record) + " is no record with samples to take away");
  removed.trace_file = rows.text(0);
  std::ranges::copy(rows.view(1), removed.trace_sha256.begin());
}

std::int64_t StoreWriter::Impl::next_version(const Definition& definition) const {
  const Statement statement(database,
                            "SELECT MAX(version) FROM definition WHERE kind = ? AND subject = ?");
  Rows rows = statement.query({definition.kind, definition.subject});
  return rows.next() ? rows.integer(0) + 1 : 1;
}

StoreWriter::StoreWriter(const std::filesystem::path& folder)
    : impl_(std::make_unique<Impl>(folder, false)) {}

void StoreWriter::open_as_restored(const std::filesystem::path& folder) {
  const Impl opened(folder, true);
}

StoreWriter::~StoreWriter() = default;

Position StoreWriter::append(const Definition& definition) {
  return impl_->guarded([&] {
    Definition complete = definition;
    complete.version = impl_->next_version(definition);
    complete.text_sha256 = sha256_of(definition.text);
    return impl_->append(complete);
  });
}

Position StoreWriter::append(const TestStart& start) {
  return impl_->guarded([&] {
    impl_->traces->ready_for(start.at.utc_ms);
    return impl_->append(start);
  });
}

Position StoreWriter::append(const Repair& repair) {
  return impl_->guarded([&] { return impl_->append(repair); });
}

Position StoreWriter::append(const BenchEvent& event) {
  return impl_->guarded([&] { return impl_->append(event); });
}

Position StoreWriter::append(const Lots& lots) {
  return impl_->guarded([&] { return impl_->append(lots); });
}

Position StoreWriter::append(std::span<const Lots> lots) {
  return impl_->guarded([&] { return impl_->append_all(lots); });
}

Position StoreWriter::append(const Disposition& disposition) {
  return impl_->guarded([&] { return impl_->append(disposition); });
}

Position StoreWriter::append(const ReturnIntake& intake) {
  return impl_->guarded([&] { return impl_->append(intake); });
}

Position StoreWriter::append(const Alarm& alarm) {
  return impl_->guarded([&] { return impl_->append(alarm); });
}

Position StoreWriter::append(const BenchCheck& check) {
  return impl_->guarded([&] { return impl_->append(check); });
}

Position StoreWriter::append(const Withdrawal& withdrawal) {
  return impl_->guarded([&] { return impl_->append(withdrawal); });
}

Position StoreWriter::append(std::span<const ImportedTest> tests) {
  return impl_->guarded([&] { return impl_->append_all(tests); });
}

Position StoreWriter::append(std::span<const TraceRemoved> removed) {
  return impl_->guarded([&] {
    std::vector<TraceRemoved> complete(removed.begin(), removed.end());
    for (TraceRemoved& each : complete) impl_->name_trace(each);
    return impl_->append_all(std::span<const TraceRemoved>(complete));
  });
}

Position StoreWriter::append(Record record, const std::optional<Trace>& trace) {
  return impl_->guarded([&] {
    impl_->refuse_wrong_start(record);
    record.trace_sha256.reset();
    record.trace_file.clear();
    if (trace) {
      record.trace_sha256 = hash_of(*trace);
      record.trace_file = impl_->traces->append(record.start_position, *record.trace_sha256,
                                                encode(*trace), record.start.at.utc_ms);
    }
    return impl_->append(record);
  });
}

StoreWriter::PieceKept StoreWriter::append_piece(Position start, const Trace& piece) {
  return impl_->guarded([&] {
    const Hash hash = hash_of(piece);
    return PieceKept{impl_->traces->append(start, hash, encode(piece), 0), hash};
  });
}

void StoreWriter::sign_head() {
  impl_->guarded([&] { impl_->sign_last("export"); });
}

void StoreWriter::checkpoint_when_due() {
  impl_->guarded([&] {
    if (impl_->gauge->checkpoint_when_due()) impl_->sign_last("checkpoint");
    impl_->traces->checkpoint_when_due();
  });
}

Position StoreWriter::last_position() const { return impl_->newest; }

bool StoreWriter::disk_failed() const { return impl_->disk_failed; }

}  // namespace endgate::schema

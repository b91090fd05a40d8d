// Where are facts kept, and how do they get there and back?
//
// One folder holds truth (records.db: every fact, WAL, synchronous FULL, append-only, one hash
// chain) and traces (trace-NNNN.db, a new one each month).  One StoreWriter per folder (owner lock:
// flock on `owner.lock`); any number of StoreReaders.
//
//   S-1  a record is complete or absent
//   S-2  a stored fact is never updated or deleted
//   S-3  positions run from 1 without a gap; head_n = SHA-256(0x01 | head_(n-1) | position | leaf)
//   S-4  the trace is committed before the record that names its hash
//   S-5  the writer is the only connection that commits or checkpoints
//   S-6  only what a person entered can be withdrawn, once; nothing that is asked of the store
//        counts it from then on, unless the question says so
//
// Threading: a StoreWriter and a StoreReader are each used from one thread at a time.
// Every failure of disk or database is a StoreFault.

#pragma once

#include <array>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "schema/deadline.h"
#include "schema/facts.h"
#include "schema/store_fault.h"
#include "schema/trace.h"

namespace endgate::schema {

class StoreWriter {
 public:
  // Takes the owner lock (StoreFault::busy names the holder's pid), creates or migrates the files.
  explicit StoreWriter(const std::filesystem::path& folder);
  ~StoreWriter();
  StoreWriter(const StoreWriter&) = delete;
  StoreWriter& operator=(const StoreWriter&) = delete;

  // Gives the store of `folder`, a copy of another, an id and a key of its own, linked to the old.
  static void open_as_restored(const std::filesystem::path& folder);

  Position append(const Definition& definition);  // version and hash are set by the store
  Position append(const TestStart& start);        // refused when (serial, attempt) exists
  Position append(const Repair& repair);
  Position append(const BenchEvent& event);
  Position append(const Lots& lots);            // refused when a part with its lot is named twice
  Position append(std::span<const Lots> lots);  // all or none, each as above; of the last
  Position append(const Disposition& disposition);
  Position append(const ReturnIntake& intake);
  Position append(const Alarm& alarm);  // refused when `opened` is no alarm
  Position append(const BenchCheck& check);
  // Refused: no such fact, one of a kind that cannot be withdrawn, or withdrawn before.
  Position append(const Withdrawal& withdrawal);
  // All or none; refused when a (source, line) exists.  The position of the last.
  Position append(std::span<const ImportedTest> tests);
  // All or none; hash and file are set by the store.  Refused: a record without a trace, or whose
  // removal was stated before.  The samples stay where they are (schema/prune_traces.h).
  Position append(std::span<const TraceRemoved> removed);

  // Trace first (one sync), then the record naming its hash (one sync).  Returns the position.
  // `record.trace_sha256` and `trace_file` are set by the store.
  Position append(Record record, const std::optional<Trace>& trace);

  // A piece of the trace of a test that still runs, one sync; `start` is its start fact.  The trace
  // of its record names every piece by file and hash (daemon/mapping/trace_pieces.h).
  struct PieceKept {
    std::string file;
    Hash sha256{};
  };
  PieceKept append_piece(Position start, const Trace& piece);

  // Signs the head as it stands, to be kept elsewhere (schema/witness.h).
  void sign_head();

  // After the answer, when about 500 pages have gathered; reads the result and throws on failure.
  void checkpoint_when_due();

  [[nodiscard]] Position last_position() const;  // from memory
  [[nodiscard]] bool disk_failed() const;        // nothing is kept any more until opened again

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

struct StoredRecord {
  Position position = 0;
  Hash head{};  // after this fact
  Record record;
};
struct StoredStart {
  Position position = 0;
  TestStart start;
};
// A fact of any other kind with its position; all such lists are oldest first and leave out what
// was withdrawn.
template <class Fact>
struct Kept {
  Position position = 0;
  Fact fact;
};

// The newest head this store has signed: what an export hands to a witness.
struct SignedHead {
  Position position = 0;
  Hash head{};
  std::array<std::uint8_t, 32> public_key{};
  std::array<std::uint8_t, 64> signature{};  // Ed25519 over 0x02 | store id | position u64 | head
};

class StoreReader {
 public:
  // Read-only; StoreFault when absent.  Every question ends at the deadline (schema/deadline.h).
  explicit StoreReader(const std::filesystem::path& folder, Deadline deadline = kNoDeadline);
  ~StoreReader();
  StoreReader(const StoreReader&) = delete;
  StoreReader& operator=(const StoreReader&) = delete;

  [[nodiscard]] const std::filesystem::path& folder() const;
  [[nodiscard]] Deadline deadline() const;
  void hold_to_deadline() const;               // StoreFault::out_of_time
  [[nodiscard]] std::string store_id() const;  // 32 hex digits
  [[nodiscard]] std::vector<StoredRecord> records_of(
      const std::string& serial) const;  // oldest first
  [[nodiscard]] std::optional<StoredRecord> record_at(Position position) const;
  // Newest first.  Of a bench: among the newest few thousand facts, so that a bench that was never
  // used costs no more than any other.
  [[nodiscard]] std::vector<StoredRecord> latest_records(std::size_t count,
                                                         const std::string& bench = "") const;
  // Every record in position order; return false from the visitor to stop.
  void for_each_record(const std::function<bool(const StoredRecord&)>& visit) const;
  // Those behind a position; true unless the visitor stopped.
  bool for_each_record_behind(Position position,
                              const std::function<bool(const StoredRecord&)>& visit) const;
  [[nodiscard]] std::optional<Trace> trace_of(const StoredRecord& record) const;  // hash checked
  [[nodiscard]] std::vector<StoredStart> starts_without_record() const;
  [[nodiscard]] std::int64_t last_attempt(const std::string& serial) const;  // 0: never started
  [[nodiscard]] std::vector<Kept<Repair>> repairs_of(const std::string& serial) const;
  [[nodiscard]] std::vector<Position> repair_positions_of(const std::string& serial) const;
  // Position of the last repair of this serial, 0 when none.
  [[nodiscard]] Position last_repair_position(const std::string& serial) const;
  [[nodiscard]] std::optional<Definition> current_definition(const std::string& kind,
                                                             const std::string& subject) const;
  [[nodiscard]] std::vector<Definition> definitions() const;  // all, oldest first
  [[nodiscard]] std::int64_t record_count() const;
  // Of the oldest and the newest tests: a store that takes simulated ones takes no others.
  [[nodiscard]] bool holds_simulated() const;
  // Records of a bench behind one position up to another.  Reads the row of each record between.
  [[nodiscard]] std::int64_t records_on(const std::string& bench, Position after,
                                        Position up_to) const;
  // Records of a bench since the newest test that began before an instant; reads those.
  [[nodiscard]] std::int64_t records_since(const std::string& bench,
                                           std::int64_t since_utc_ms) const;

  // `subject_kind`: unit, batch.
  [[nodiscard]] std::vector<Kept<Lots>> lots_of(const std::string& subject_kind,
                                                const std::string& subject) const;
  [[nodiscard]] std::vector<std::string> subjects_with_lots(const std::string& subject_kind) const;
  // Every fact that names this lot, of any part when `part` is empty.
  [[nodiscard]] std::vector<Kept<Lots>> lots_with(const std::string& lot,
                                                  const std::string& part = "") const;
  [[nodiscard]] std::vector<std::string> part_names() const;  // that lots were entered of, sorted
  // Serials that were tested as part of a batch, in the order of their first test.  Reads the index
  // of every test.
  [[nodiscard]] std::vector<std::string> serials_of_batch(const std::string& batch) const;
  [[nodiscard]] std::vector<Kept<Disposition>> dispositions_of(const std::string& serial) const;
  [[nodiscard]] std::vector<Kept<ReturnIntake>> returns_of(const std::string& serial) const;
  [[nodiscard]] std::vector<Kept<Alarm>> open_alarms() const;  // the newest fact of each
  [[nodiscard]] std::vector<Kept<Alarm>> alarm_history(Position opened) const;
  [[nodiscard]] std::vector<Kept<ImportedTest>> imported_of(const std::string& serial) const;
  // Every imported test in position order, behind a position; true unless the visitor stopped.
  bool for_each_imported_behind(Position position,
                                const std::function<bool(const Kept<ImportedTest>&)>& visit) const;
  // The first imported test of each source, withdrawn or not, which stands for its file.
  [[nodiscard]] std::vector<Kept<ImportedTest>> imported_files() const;
  [[nodiscard]] std::optional<Kept<TraceRemoved>> trace_removal_of(Position record) const;
  // Every record whose samples were taken away by a stated policy, oldest first.
  [[nodiscard]] std::vector<Position> records_without_trace() const;
  // Of any kind when `kind` is empty.
  [[nodiscard]] std::vector<Kept<BenchCheck>> bench_checks(const std::string& bench,
                                                           const std::string& kind = "") const;
  // The newest of a kind, of any subject when `subject` is empty.
  [[nodiscard]] std::optional<Kept<BenchCheck>> newest_bench_check(
      const std::string& bench, const std::string& kind, const std::string& subject = "") const;
  // Entries that were withdrawn, oldest first.  `subject_kind`: unit, batch, bench.
  struct Withdrawn {
    Position position = 0;            // of the entry
    std::vector<std::uint8_t> bytes;  // of the entry, as sealed (schema/seal.h decodes them)
    Kept<Withdrawal> withdrawal;
  };
  [[nodiscard]] std::vector<Withdrawn> withdrawn_about(const std::string& subject_kind,
                                                       const std::string& subject) const;
  [[nodiscard]] std::optional<Kept<Withdrawal>> withdrawal_of(Position entry) const;

  // The sealed bytes as they were hashed, and the heads before and after them.
  struct SealedFact {
    Position position = 0;
    Hash previous_head{}, head{};
    std::vector<std::uint8_t> bytes;
  };
  [[nodiscard]] std::optional<SealedFact> sealed_fact(Position position) const;
  [[nodiscard]] Position last_position() const;  // of any kind of fact
  [[nodiscard]] std::optional<Hash> head_at(Position position) const;
  [[nodiscard]] std::optional<SignedHead> signed_head() const;
  // The newest opening up to a position: whose store, and which key signs there.
  [[nodiscard]] std::optional<StoreOpened> opened_before(Position position) const;
  // The encoded trace as it lies in its file; nothing when the record has none or it is gone.
  [[nodiscard]] std::optional<std::vector<std::uint8_t>> trace_bytes_of(const Record& record) const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

// Copies one record (its fact bytes, head and trace) into an empty folder that `replay` can read.
void copy_out(const StoreReader& from, Position position, const std::filesystem::path& to_folder);

}  // namespace endgate::schema

#include "schema/verify.h"

#include <algorithm>
#include <map>
#include <set>
#include <span>

#include "schema/index_rows.h"
#include "schema/migrations.h"
#include "schema/named_pieces.h"
#include "schema/signing_key.h"
#include "schema/trace.h"
#include "schema/trace_files.h"

namespace endgate::schema {
namespace {

// A fact that is not what was sealed; position 0 is the file as a whole.
struct Bad {
  Position position;
  std::string what;
};

class Verifier {
 public:
  Verifier(const std::filesystem::path& folder, bool traces)
      : database_(folder / "records.db", Database::Mode::read_only),
        traces_(folder),
        check_traces_(traces) {
    database_.run("BEGIN");  // one snapshot, also while the daemon goes on appending
    version_ = prepare_for_checking(database_, kTruthFile);
  }

  VerifyResult run(const std::function<void(std::int64_t)>& progress) {
    at_ = 1;
    try {
      read_signatures();
      if (check_traces_) read_removals();
      check_facts(progress);
      check_last_signature();
      check_row_counts();
      check_file();
    } catch (const Bad& bad) {
      result_.first_bad = bad.position;
      result_.what = bad.what;
    } catch (const StoreFault& fault) {
      if (fault.kind() != StoreFault::Kind::damaged) throw;
      result_.first_bad = at_;
      result_.what = fault.what();
    }
    return result_;
  }

 private:
  void check_facts(const std::function<void(std::int64_t)>& progress) {
    const Statement facts(database_,
                          "SELECT position, kind, bytes, head FROM fact ORDER BY position");
    for (Rows rows = facts.query({}); rows.next();) {
      check_fact(rows);
      result_.facts = at_++;
      if (progress && result_.facts % 256 == 0) progress(result_.facts);
    }
    if (result_.facts == 0) throw Bad{1, "the store holds no fact, not even its opening"};
  }

  void check_fact(const Rows& rows) {
    if (rows.integer(0) != at_) bad("the numbering has a gap");
    const Bytes bytes = rows.bytes(2);
    const Hash head = head_of(result_.head, at_, leaf_of(bytes));
    if (rows.bytes(3) != blob(head)) bad("bytes do not match their hash");
    const Fact fact = decode_fact(bytes);
    if (rows.integer(1) != static_cast<std::int64_t>(kind_of(fact)))
      bad("column kind says something else than the sealed bytes");
    check_index(fact);
    if (const auto* opened = std::get_if<StoreOpened>(&fact)) opened_ = *opened;
    if (at_ == 1 && !std::holds_alternative<StoreOpened>(fact))
      bad("the first fact is not the opening of a store");
    if (const auto* record = std::get_if<Record>(&fact); record && check_traces_)
      check_trace(*record);
    result_.head = head;
    check_signatures(head);
  }

  void check_index(const Fact& fact) {
    const std::vector<IndexRow> all = index_rows(at_, fact);
    for (const IndexRow& expected : all) {
      ++counted_[expected.table];
      compare(expected);
    }
    const char* many = table_of_many(kind_of(fact));
    if (many != nullptr && all.size() - 1 != rows_of_this_fact(many))
      bad("table " + std::string(many) + " has rows that the sealed bytes do not have");
  }

  std::size_t rows_of_this_fact(const std::string& table) {
    const Statement& count =
        statement("rows of " + table, "SELECT COUNT(*) FROM " + table + " WHERE position = ?");
    Rows rows = count.query({at_});
    return rows.next() ? static_cast<std::size_t>(rows.integer(0)) : 0;
  }

  void compare(const IndexRow& expected) {
    const auto key_end =
        expected.values.begin() + static_cast<std::ptrdiff_t>(expected.key_columns);
    Rows rows = select(expected).query({expected.values.begin(), key_end});
    if (!rows.next()) bad("table " + expected.table + " lacks the row of this fact");
    for (std::size_t i = 0; i < expected.columns.size(); ++i)
      if (rows.value(static_cast<int>(i)) != expected.values[i])
        bad("column " + std::string(expected.columns[i]) + " of table " + expected.table +
            " says something else than the sealed bytes");
  }

  const Statement& select(const IndexRow& row) {
    std::string sql;
    for (const char* column : row.columns)
      sql += (sql.empty() ? "SELECT " : ", ") + std::string(column);
    sql += " FROM " + row.table;
    for (std::size_t i = 0; i < row.key_columns; ++i)
      sql += (i == 0 ? " WHERE " : " AND ") + std::string(row.columns[i]) + " = ?";
    return statement(row.table, sql);
  }

  const Statement& statement(const std::string& name, const std::string& sql) {
    const auto found = statements_.find(name);
    if (found != statements_.end()) return found->second;
    return statements_.emplace(name, Statement(database_, sql)).first->second;
  }

  // What a digest names is sealed with it: every piece has to be there and what it was.
  void check_trace(const Record& record) {
    if (!record.trace_sha256) return;
    if (removals_.contains(at_) && lacks_samples(record)) {
      ++result_.removed;
      return;
    }
    const Trace trace = kept(record, "its trace", record.trace_file, *record.trace_sha256);
    ++result_.traces;
    for (const NamedPiece& piece : named_pieces(trace.marks)) {
      static_cast<void>(kept(record, "a piece of its trace", piece.file, piece.sha256));
      ++result_.pieces;
    }
  }

  // Stated in a later fact; that the table says what facts say is checked with those.
  void read_removals() {
    if (!has_table("trace_removed")) return;  // of an older version
    const Statement statement(database_, "SELECT record FROM trace_removed");
    for (Rows rows = statement.query({}); rows.next();) removals_.insert(rows.integer(0));
  }

  bool lacks_samples(const Record& record) {
    return !traces_.bytes_of(record.trace_file, record.start_position, *record.trace_sha256);
  }

  Trace kept(const Record& record, const std::string& what, const std::string& file,
             const Hash& hash) {
    const auto bytes = traces_.bytes_of(file, record.start_position, hash);
    if (!bytes) bad(what + " is not in " + file);
    Trace trace = decode(*bytes);
    if (hash_of(trace) != hash) bad(what + " does not match its hash");
    return trace;
  }

  void check_row_counts() {
    const std::span<const std::string> all = index_tables();
    const std::size_t here = index_tables_at(version_);
    for (const std::string& table : all.first(here))
      if (database_.number("SELECT COUNT(*) FROM " + table) != counted_[table])
        throw Bad{0, "table " + table + " has rows that belong to no fact"};
    for (const std::string& table : all.subspan(here))
      if (has_table(table))
        throw Bad{0, "table " + table + " came later than version " + std::to_string(version_) +
                         ", which the file says it is of"};
  }

  bool has_table(const std::string& name) {
    return database_.number("SELECT COUNT(*) FROM sqlite_schema WHERE name = '" + name + "'") > 0;
  }

  struct Signed {
    Bytes head, public_key, signature;
    std::string cause;
  };

  void read_signatures() {
    const Statement statement(
        database_,
        "SELECT position, head, public_key, signature, cause FROM signed_head ORDER BY id");
    for (Rows rows = statement.query({}); rows.next();)
      signed_.emplace(rows.integer(0),
                      Signed{rows.bytes(1), rows.bytes(2), rows.bytes(3), rows.text(4)});
    if (signed_.empty()) throw Bad{0, "no head is signed"};
  }

  // Each by the key that the newest opening up to here has sealed.
  void check_signatures(const Hash& head) {
    const auto [first, last] = signed_.equal_range(at_);
    for (auto item = first; item != last; ++item) {
      if (item->second.head != blob(head)) bad("the signed head is not the head of this fact");
      if (item->second.public_key != blob(opened_.public_key))
        bad("the head is signed by another key than the store's");
      if (!is_signed(item->second.signature, signed_message(opened_.store_id, at_, head),
                     item->second.public_key))
        bad("the signature of the head is wrong");
      if (std::ranges::find(kSignCauses, item->second.cause) == kSignCauses.end())
        bad("a head was signed for no known cause: " + item->second.cause);
    }
  }

  void check_last_signature() {
    if (signed_.rbegin()->first > result_.facts)
      throw Bad{result_.facts + 1, "this fact was signed and is gone"};
  }

  // Finds what no fact speaks of: damaged index pages, free lists.
  void check_file() {
    const std::string answer = database_.text("PRAGMA integrity_check(1)");
    if (answer != "ok") throw Bad{0, "SQLite finds the file damaged: " + answer};
  }

  [[noreturn]] void bad(const std::string& what) const { throw Bad{at_, what}; }

  Database database_;
  TraceReader traces_;
  bool check_traces_;
  std::int64_t version_ = 0;  // of the file; an older one lacks tables, not facts
  Position at_ = 1;
  VerifyResult result_;
  StoreOpened opened_;
  std::set<Position> removals_;  // records
  std::multimap<Position, Signed> signed_;
  std::map<std::string, std::int64_t> counted_;
  std::map<std::string, Statement> statements_;
};

}  // namespace

VerifyResult verify(const std::filesystem::path& folder, bool traces,
                    const std::function<void(std::int64_t done)>& progress) {
  start_crypto();
  if (!std::filesystem::exists(folder / "records.db"))
    throw StoreFault(StoreFault::Kind::io, "there is no store in " + folder.string() +
                                               " (records.db is missing); check the data folder");
  return Verifier(folder, traces).run(progress);
}

}  // namespace endgate::schema

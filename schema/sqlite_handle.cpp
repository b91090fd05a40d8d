#include "schema/sqlite_handle.h"

namespace endgate::schema {
namespace {

StoreFault::Kind kind_of(int code) {
  switch (code & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return StoreFault::Kind::busy;
    case SQLITE_FULL:
      return StoreFault::Kind::full;
    case SQLITE_INTERRUPT:
      return StoreFault::Kind::out_of_time;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
    case SQLITE_ERROR:  // after start-up this is a schema that is not ours any more
    case SQLITE_FORMAT:
      return StoreFault::Kind::damaged;
    case SQLITE_CONSTRAINT:
    case SQLITE_AUTH:
    case SQLITE_READONLY:
      return StoreFault::Kind::refused;
    default:
      return StoreFault::Kind::io;
  }
}

const char* advice(StoreFault::Kind kind) {
  switch (kind) {
    case StoreFault::Kind::busy:
      return "; another connection holds it, try again";
    case StoreFault::Kind::full:
      return "; make space on the disk";
    case StoreFault::Kind::io:
      return "; check the disk, then start again";
    case StoreFault::Kind::out_of_time:
      return "; ask about fewer tests";
    case StoreFault::Kind::damaged:
      return "; keep the file as it is and go on from a copy";
    default:
      return "";
  }
}

struct Switch {
  int id;
  int value;
  const char* name;
};
constexpr Switch kSwitches[] = {
    {SQLITE_DBCONFIG_DQS_DML, 0, "DQS_DML"},
    {SQLITE_DBCONFIG_DQS_DDL, 0, "DQS_DDL"},
    {SQLITE_DBCONFIG_DEFENSIVE, 1, "DEFENSIVE"},
    {SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, "TRUSTED_SCHEMA"},
    {SQLITE_DBCONFIG_ENABLE_LOAD_EXTENSION, 0, "ENABLE_LOAD_EXTENSION"},
    {SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, "NO_CKPT_ON_CLOSE"},
};

constexpr int kInstructionsBetweenLooks = 1000;

int ends_now(void* deadline) { return is_over(*static_cast<const Deadline*>(deadline)) ? 1 : 0; }

int flags_of(Database::Mode mode) {
  constexpr int common = SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE;
  if (mode == Database::Mode::read_only) return common | SQLITE_OPEN_READONLY;
  return common | SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE;
}

}  // namespace

Database::Database(const std::filesystem::path& path, Mode mode)
    : path_(path), handle_(nullptr, &sqlite3_close_v2) {
  sqlite3* opened = nullptr;
  const int code = sqlite3_open_v2(path.c_str(), &opened, flags_of(mode), nullptr);
  handle_.reset(opened);
  check(code, "open");
  if (!sqlite3_threadsafe())
    throw StoreFault(StoreFault::Kind::wrong_version,
                     "this SQLite is built without threads; install the one of Debian");
  sqlite3_busy_timeout(raw(), 2000);
  set_switches();
}

void Database::set_switches() {
  for (const Switch& item : kSwitches) {
    int now = -1;
    check(sqlite3_db_config(raw(), item.id, item.value, &now), std::string("set ") + item.name);
    if (now != item.value)
      throw StoreFault(StoreFault::Kind::wrong_version,
                       std::string("this SQLite does not obey the switch ") + item.name);
  }
}

void Database::give_up_at(Deadline deadline) {
  sqlite3_progress_handler(raw(), 0, nullptr, nullptr);
  deadline_.reset();
  if (deadline == kNoDeadline) return;
  deadline_ = std::make_unique<const Deadline>(deadline);
  sqlite3_progress_handler(raw(), kInstructionsBetweenLooks, &ends_now,
                           const_cast<Deadline*>(deadline_.get()));
}

void Database::run(const std::string& sql) {
  check(sqlite3_exec(raw(), sql.c_str(), nullptr, nullptr, nullptr), sql.substr(0, 60));
}

std::int64_t Database::number(const std::string& sql) {
  const Statement statement(*this, sql);
  Rows rows = statement.query({});
  return rows.next() ? rows.integer(0) : 0;
}

std::string Database::text(const std::string& sql) {
  const Statement statement(*this, sql);
  Rows rows = statement.query({});
  return rows.next() ? rows.text(0) : std::string();
}

void Database::check(int code, const std::string& doing) const {
  if (code == SQLITE_OK || code == SQLITE_ROW || code == SQLITE_DONE) return;
  const StoreFault::Kind kind = kind_of(code);
  const char* detail = raw() ? sqlite3_errmsg(raw()) : sqlite3_errstr(code);
  throw StoreFault(kind, path_.string() + ": cannot " + doing + ": " + detail + advice(kind));
}

Rows::~Rows() { sqlite3_reset(statement_->handle_.get()); }

bool Rows::next() {
  const int code = sqlite3_step(statement_->handle_.get());
  statement_->database_->check(code, "read or write");
  return code == SQLITE_ROW;
}

std::int64_t Rows::integer(int column) const {
  return sqlite3_column_int64(statement_->handle_.get(), column);
}

std::string Rows::text(int column) const {
  sqlite3_stmt* row = statement_->handle_.get();
  const auto* data = reinterpret_cast<const char*>(sqlite3_column_text(row, column));
  const auto size = static_cast<std::size_t>(sqlite3_column_bytes(row, column));
  return data ? std::string(data, size) : std::string();
}

double Rows::real(int column) const {
  return sqlite3_column_double(statement_->handle_.get(), column);
}

std::span<const std::uint8_t> Rows::view(int column) const {
  sqlite3_stmt* row = statement_->handle_.get();
  const auto* data = static_cast<const std::uint8_t*>(sqlite3_column_blob(row, column));
  const auto size = static_cast<std::size_t>(sqlite3_column_bytes(row, column));
  return data ? std::span(data, size) : std::span<const std::uint8_t>();
}

Bytes Rows::bytes(int column) const { return blob(view(column)); }

Value Rows::value(int column) const {
  sqlite3_stmt* row = statement_->handle_.get();
  switch (sqlite3_column_type(row, column)) {
    case SQLITE_INTEGER:
      return integer(column);
    case SQLITE_FLOAT:
      return sqlite3_column_double(row, column);
    case SQLITE_TEXT:
      return text(column);
    case SQLITE_BLOB:
      return bytes(column);
    default:
      return std::monostate();
  }
}

Statement::Statement(const Database& database, const std::string& sql)
    : database_(&database), handle_(nullptr, &sqlite3_finalize) {
  sqlite3_stmt* compiled = nullptr;
  const int code = sqlite3_prepare_v3(database.raw(), sql.data(), static_cast<int>(sql.size()),
                                      SQLITE_PREPARE_PERSISTENT, &compiled, nullptr);
  handle_.reset(compiled);
  database.check(code, "prepare " + sql.substr(0, 60));
}

Rows Statement::query(const std::vector<Value>& parameters) const {
  bind(parameters);
  return Rows(*this);
}

void Statement::execute(const std::vector<Value>& parameters) const {
  Rows rows = query(parameters);
  while (rows.next()) {
  }
}

void Statement::bind(const std::vector<Value>& parameters) const {
  sqlite3_stmt* to = handle_.get();
  int index = 0;
  for (const Value& parameter : parameters) {
    ++index;
    int code = SQLITE_OK;
    if (std::holds_alternative<std::monostate>(parameter))
      code = sqlite3_bind_null(to, index);
    else if (const auto* integer = std::get_if<std::int64_t>(&parameter))
      code = sqlite3_bind_int64(to, index, *integer);
    else if (const auto* real = std::get_if<double>(&parameter))
      code = sqlite3_bind_double(to, index, *real);
    else if (const auto* text = std::get_if<std::string>(&parameter))
      code =
          sqlite3_bind_text64(to, index, text->data(), text->size(), SQLITE_TRANSIENT, SQLITE_UTF8);
    else if (const auto* bytes = std::get_if<Bytes>(&parameter))
      code = sqlite3_bind_blob64(to, index, bytes->data(), bytes->size(), SQLITE_TRANSIENT);
    database_->check(code, "bind a parameter");
  }
}

Transaction::Transaction(Database& database) : database_(&database) {
  database.run("BEGIN IMMEDIATE");
}

Transaction::~Transaction() {
  if (open_ && !sqlite3_get_autocommit(database_->raw()))
    sqlite3_exec(database_->raw(), "ROLLBACK", nullptr, nullptr, nullptr);
}

void Transaction::commit() {
  database_->run("COMMIT");
  open_ = false;
}

}  // namespace endgate::schema

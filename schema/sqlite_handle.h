// How do we talk to SQLite?  The few calls we need, each failure a StoreFault.
//
// Every connection switches off what could surprise (double-quoted strings, writable schema,
// trusted schema, extensions, checkpoint on close) and reads each switch back.
//
// Threading: one connection and its statements are used from one thread at a time.

#pragma once

#include <sqlite3.h>

#include <filesystem>
#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "schema/deadline.h"
#include "schema/sha256.h"
#include "schema/store_fault.h"

namespace endgate::schema {

using Value = std::variant<std::monostate, std::int64_t, double, std::string, Bytes>;

[[nodiscard]] inline Bytes blob(std::span<const std::uint8_t> bytes) {
  return {bytes.begin(), bytes.end()};
}

class Database {
 public:
  enum class Mode { read_only, read_write };
  Database(const std::filesystem::path& path, Mode mode);

  // One or more statements without parameters.
  void run(const std::string& sql);
  // First column of the first row.
  [[nodiscard]] std::int64_t number(const std::string& sql);
  [[nodiscard]] std::string text(const std::string& sql);

  [[nodiscard]] sqlite3* raw() const { return handle_.get(); }
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

  // From here on whatever still runs then ends with StoreFault::out_of_time.
  void give_up_at(Deadline deadline);

  // Throws for anything but SQLITE_OK, SQLITE_ROW, SQLITE_DONE.
  void check(int code, const std::string& doing) const;

 private:
  void set_switches();

  std::filesystem::path path_;
  std::unique_ptr<const Deadline> deadline_;  // SQLite holds its address
  std::unique_ptr<sqlite3, int (*)(sqlite3*)> handle_;
};

class Statement;

// The rows of one query; resets the statement when it goes, so that no read stays open.
class Rows {
 public:
  explicit Rows(const Statement& statement) : statement_(&statement) {}
  ~Rows();
  Rows(const Rows&) = delete;
  Rows& operator=(const Rows&) = delete;

  [[nodiscard]] bool next();
  [[nodiscard]] std::int64_t integer(int column) const;
  [[nodiscard]] std::string text(int column) const;
  [[nodiscard]] double real(int column) const;
  [[nodiscard]] Bytes bytes(int column) const;
  [[nodiscard]] std::span<const std::uint8_t> view(int column) const;  // until the next row
  [[nodiscard]] Value value(int column) const;

 private:
  const Statement* statement_;
};

// Compiled once, run often.  Only one Rows of a statement lives at a time.
class Statement {
 public:
  Statement(const Database& database, const std::string& sql);

  [[nodiscard]] Rows query(const std::vector<Value>& parameters) const;
  void execute(const std::vector<Value>& parameters) const;

 private:
  friend class Rows;
  void bind(const std::vector<Value>& parameters) const;

  const Database* database_;
  std::unique_ptr<sqlite3_stmt, int (*)(sqlite3_stmt*)> handle_;
};

// BEGIN IMMEDIATE; rolled back unless committed.
class Transaction {
 public:
  explicit Transaction(Database& database);
  ~Transaction();
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;
  void commit();

 private:
  Database* database_;
  bool open_ = true;
};

}  // namespace endgate::schema

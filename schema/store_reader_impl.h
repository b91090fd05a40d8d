// The inside of StoreReader, shared by the files that answer its questions.

#pragma once

#include "schema/seal.h"
#include "schema/sqlite_handle.h"
#include "schema/store.h"
#include "schema/trace_files.h"

namespace endgate::schema {

template <class Kind>
[[nodiscard]] Kind decode_as(const Bytes& bytes) {
  Fact fact = decode_fact(bytes);
  if (auto* value = std::get_if<Kind>(&fact)) return std::move(*value);
  throw StoreFault(StoreFault::Kind::damaged, "a stored fact is of another kind than its columns");
}

// Of a row of an index table `x`.
inline constexpr const char* kNotWithdrawn =
    "NOT EXISTS(SELECT 1 FROM withdrawal WHERE withdrawn = x.position)";

template <class T>
[[nodiscard]] std::optional<T> first_of(std::vector<T> found) {
  if (found.empty()) return std::nullopt;
  return std::move(found.front());
}

struct StoreReader::Impl {
  Impl(const std::filesystem::path& folder, Deadline deadline);

  [[nodiscard]] std::vector<StoredRecord> records(const std::string& rest,
                                                  const std::vector<Value>& parameters) const;

  template <class Kind>
  [[nodiscard]] std::vector<Kind> facts(const std::string& sql,
                                        const std::vector<Value>& parameters) const {
    const Statement statement(database, sql);
    std::vector<Kind> found;
    for (Rows rows = statement.query(parameters); rows.next();)
      found.push_back(decode_as<Kind>(rows.bytes(0)));
    return found;
  }

  // The facts of one index table `x`, oldest first, without those withdrawn.
  template <class Kind>
  [[nodiscard]] std::vector<Kept<Kind>> kept(const std::string& table, const std::string& where,
                                             const std::vector<Value>& parameters) const {
    return ever_kept<Kind>(table, "(" + where + ") AND " + kNotWithdrawn, parameters);
  }

  // The same, withdrawn or not.
  template <class Kind>
  [[nodiscard]] std::vector<Kept<Kind>> ever_kept(const std::string& table,
                                                  const std::string& where,
                                                  const std::vector<Value>& parameters) const {
    const Statement statement(database, "SELECT f.position, f.bytes FROM " + table +
                                            " x JOIN fact f ON f.position = x.position WHERE " +
                                            where + " ORDER BY x.position");
    std::vector<Kept<Kind>> found;
    for (Rows rows = statement.query(parameters); rows.next();)
      found.push_back({rows.integer(0), decode_as<Kind>(rows.bytes(1))});
    return found;
  }

  [[nodiscard]] std::int64_t number(const std::string& sql,
                                    const std::vector<Value>& parameters) const {
    const Statement statement(database, sql);
    Rows rows = statement.query(parameters);
    return rows.next() ? rows.integer(0) : 0;
  }

  std::filesystem::path folder;
  Deadline deadline;
  Database database;
  mutable TraceReader traces;
};

}  // namespace endgate::schema

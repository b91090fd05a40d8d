// Entries that were taken back: the only way to see them again.

#include "schema/store_reader_impl.h"

namespace endgate::schema {
namespace {

// Positions of the entries about one subject, parameter 1.
std::string entries_about(const std::string& subject_kind) {
  if (subject_kind == "batch")
    return "SELECT position FROM lots WHERE subject_kind = 'batch' AND subject = ?1";
  if (subject_kind == "bench")
    return "SELECT position FROM bench_check WHERE bench = ?1"
           " UNION ALL SELECT position FROM bench_event WHERE bench = ?1";
  return "SELECT position FROM repair WHERE serial = ?1"
         " UNION ALL SELECT position FROM disposition WHERE serial = ?1"
         " UNION ALL SELECT position FROM return_intake WHERE serial = ?1"
         " UNION ALL SELECT position FROM imported_test WHERE serial = ?1"
         " UNION ALL SELECT position FROM lots WHERE subject_kind = 'unit' AND subject = ?1";
}

}  // namespace

std::vector<StoreReader::Withdrawn> StoreReader::withdrawn_about(const std::string& subject_kind,
                                                                 const std::string& subject) const {
  const Statement statement(
      impl_->database,
      "SELECT e.position, e.bytes, f.position, f.bytes FROM withdrawal x"
      " JOIN fact e ON e.position = x.withdrawn JOIN fact f ON f.position = x.position"
      " WHERE x.withdrawn IN (" +
          entries_about(subject_kind) + ") ORDER BY e.position");
  std::vector<Withdrawn> found;
  for (Rows rows = statement.query({subject}); rows.next();)
    found.push_back({.position = rows.integer(0),
                     .bytes = rows.bytes(1),
                     .withdrawal = {rows.integer(2), decode_as<Withdrawal>(rows.bytes(3))}});
  return found;
}

std::optional<Kept<Withdrawal>> StoreReader::withdrawal_of(Position entry) const {
  return first_of(impl_->ever_kept<Withdrawal>("withdrawal", "x.withdrawn = ?", {entry}));
}

}  // namespace endgate::schema

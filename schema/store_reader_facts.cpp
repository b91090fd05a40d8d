// Facts that people enter: lots, dispositions, returns, alarms, imports, removals, checks.

#include "schema/store_reader_impl.h"

namespace endgate::schema {

std::vector<Kept<Lots>> StoreReader::lots_of(const std::string& subject_kind,
                                             const std::string& subject) const {
  return impl_->kept<Lots>("lots", "x.subject = ? AND x.subject_kind = ?", {subject, subject_kind});
}

std::vector<Kept<Lots>> StoreReader::lots_with(const std::string& lot,
                                               const std::string& part) const {
  return impl_->kept<Lots>(
      "lots", "x.position IN (SELECT position FROM lot WHERE lot = ?1 AND (?2 = '' OR part = ?2))",
      {lot, part});
}

std::vector<std::string> StoreReader::part_names() const {
  const Statement statement(impl_->database, std::string("SELECT DISTINCT part FROM lot x WHERE ") +
                                                 kNotWithdrawn + " ORDER BY part");
  std::vector<std::string> found;
  for (Rows rows = statement.query({}); rows.next();) found.push_back(rows.text(0));
  return found;
}

std::vector<std::string> StoreReader::serials_of_batch(const std::string& batch) const {
  const Statement statement(
      impl_->database,
      "SELECT serial FROM record WHERE batch = ? GROUP BY serial ORDER BY MIN(position)");
  std::vector<std::string> found;
  for (Rows rows = statement.query({batch}); rows.next();) found.push_back(rows.text(0));
  return found;
}

std::vector<Kept<Disposition>> StoreReader::dispositions_of(const std::string& serial) const {
  return impl_->kept<Disposition>("disposition", "x.serial = ?", {serial});
}

std::vector<Kept<ReturnIntake>> StoreReader::returns_of(const std::string& serial) const {
  return impl_->kept<ReturnIntake>("return_intake", "x.serial = ?", {serial});
}

std::vector<Kept<Alarm>> StoreReader::open_alarms() const {
  return impl_->kept<Alarm>("alarm",
                            "x.state <> 'closed' AND x.position = (SELECT MAX(position) FROM alarm"
                            " WHERE opened = x.opened)",
                            {});
}

std::vector<Kept<Alarm>> StoreReader::alarm_history(Position opened) const {
  return impl_->kept<Alarm>("alarm", "x.opened = ?", {opened});
}

std::vector<Kept<ImportedTest>> StoreReader::imported_of(const std::string& serial) const {
  return impl_->kept<ImportedTest>("imported_test", "x.serial = ?", {serial});
}

std::optional<Kept<TraceRemoved>> StoreReader::trace_removal_of(Position record) const {
  return first_of(impl_->kept<TraceRemoved>("trace_removed", "x.record = ?", {record}));
}

std::vector<Position> StoreReader::records_without_trace() const {
  const Statement statement(impl_->database, "SELECT record FROM trace_removed ORDER BY record");
  std::vector<Position> found;
  for (Rows rows = statement.query({}); rows.next();) found.push_back(rows.integer(0));
  return found;
}

std::vector<Kept<BenchCheck>> StoreReader::bench_checks(const std::string& bench,
                                                        const std::string& kind) const {
  return impl_->kept<BenchCheck>("bench_check", "x.bench = ?1 AND (?2 = '' OR x.kind = ?2)",
                                 {bench, kind});
}

std::optional<Kept<BenchCheck>> StoreReader::newest_bench_check(const std::string& bench,
                                                                const std::string& kind,
                                                                const std::string& subject) const {
  const Position newest = impl_->number(
      std::string("SELECT x.position FROM bench_check x WHERE x.bench = ?1 AND x.kind = ?2"
                  " AND (?3 = '' OR x.subject = ?3) AND ") +
          kNotWithdrawn + " ORDER BY x.position DESC LIMIT 1",
      {bench, kind, subject});
  return first_of(impl_->kept<BenchCheck>("bench_check", "x.position = ?", {newest}));
}

}  // namespace endgate::schema

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

std::optional<Kept<ImportedTest>> StoreReader::imported_from(const std::string& source,
                                                             std::int64_t line) const {
  return first_of(impl_->ever_kept<ImportedTest>("imported_test", "x.source = ? AND x.line = ?",
                                                 {source, line}));
}

std::vector<Kept<ImportedTest>> StoreReader::imported_tests() const {
  return impl_->kept<ImportedTest>("imported_test", "TRUE", {});
}

std::optional<Kept<TraceRemoved>> StoreReader::trace_removal_of(Position record) const {
  return first_of(impl_->kept<TraceRemoved>("trace_removed", "x.record = ?", {record}));
}

std::vector<Kept<BenchCheck>> StoreReader::bench_checks(const std::string& bench,
                                                        const std::string& kind) const {
  return impl_->kept<BenchCheck>("bench_check", "x.bench = ?1 AND (?2 = '' OR x.kind = ?2)",
                                 {bench, kind});
}

std::vector<Kept<BenchEvent>> StoreReader::bench_events(const std::string& bench) const {
  return impl_->kept<BenchEvent>("bench_event", "x.bench = ?", {bench});
}

}  // namespace endgate::schema

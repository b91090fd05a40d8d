// One fact of every kind that people enter, as a test of the store needs them.

#pragma once

#include "schema/store.h"
#include "tests/support/made_facts.h"

namespace endgate::test {

inline schema::ImportedTest made_import(std::int64_t line, const std::string& serial = "OLD-0042") {
  return {.source = "paper book 2019",
          .line = line,
          .serial = serial,
          .model = "P1-60-12",
          .verdict = "pass",
          .tested_utc_ms = 1'560'000'000'000,
          .metrics = {{.id = "fad_400", .value = 9.1e-4}},
          .by = "Ada"};
}

inline std::size_t imports_in(const std::filesystem::path& store) {
  std::size_t found = 0;
  schema::StoreReader(store).for_each_imported_behind(
      0, [&](const schema::Kept<schema::ImportedTest>&) { return ++found > 0; });
  return found;
}

// Kinds 7 to 14.  `record` has a trace; the alarm is opened and then owned; a repair is withdrawn.
inline void append_entered_facts(schema::StoreWriter& writer, schema::Position record) {
  writer.append(schema::Lots{.subject_kind = "batch",
                             .subject = "B-2648",
                             .parts = {{"reed", "R-1187"}, {"motor", "M-2231"}},
                             .by = "Ada"});
  writer.append(schema::Disposition{.serial = "QH1",
                                    .decision = "concession",
                                    .reason = "for the test rig",
                                    .by = "Ada",
                                    .second_by = "Bo"});
  writer.append(schema::ReturnIntake{.serial = "QH1", .complaint = "weak", .months_in_use = 7});
  const schema::Position alarm = writer.append(schema::Alarm{
      .bench = "north", .code = "flow_drift", .state = "open", .text = "flow reads low"});
  writer.append(schema::Alarm{
      .opened = alarm, .bench = "north", .code = "flow_drift", .state = "owned", .owner = "Bo"});
  writer.append(std::vector{made_import(2)});
  writer.append(
      std::vector{schema::TraceRemoved{.record = record, .policy = "older than 400 days"}});
  writer.append(schema::BenchCheck{
      .bench = "north", .kind = "reference_unit", .subject = "QHREF-N1", .outcome = "in_control"});
  const schema::Position repair = writer.append(schema::Repair{.serial = "QH1", .by = "Ada"});
  writer.append(schema::Withdrawal{.withdrawn = repair, .why = "another unit", .by = "Ada"});
}

}  // namespace endgate::test

// `endgate history SERIAL`

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/text_table.h"
#include "daemon/line/say_time.h"
#include "daemon/queries/unit_history.h"

namespace endgate::daemon {
namespace {

std::string reason_of(const schema::Record& record) {
  std::string said = record.reasons.empty() ? "" : record.reasons.front().sentence;
  if (!record.likely_cause.empty()) said += " Likely cause: " + record.likely_cause + ".";
  return said;
}

TextRow row_of(const schema::StoredRecord& stored) {
  const schema::Record& record = stored.record;
  return {std::to_string(stored.position),
          std::to_string(record.start.attempt),
          say_utc_minute(record.start.at.utc_ms),
          record.start.model,
          record.start.bench,
          record.start.purpose,
          record.verdict,
          record.standing,
          reason_of(record)};
}

TextRow row_of(const UnitHistory::RepairDone& done) {
  return {std::to_string(done.position),
          "",
          say_utc_minute(done.repair.at.utc_ms),
          "",
          "",
          "repair",
          "",
          "",
          done.repair.finding + (done.repair.parts.empty() ? "" : ", " + done.repair.parts)};
}

// Tests and repairs by position, the one order that is certain.
std::vector<TextRow> rows_of(const UnitHistory& history) {
  std::vector<TextRow> rows{{"position", "attempt", "start (UTC)", "model", "bench", "purpose",
                             "verdict", "standing", "reason"}};
  std::size_t repair = 0;
  for (const schema::StoredRecord& test : history.tests) {
    while (repair < history.repairs.size() && history.repairs[repair].position < test.position)
      rows.push_back(row_of(history.repairs[repair++]));
    rows.push_back(row_of(test));
  }
  while (repair < history.repairs.size()) rows.push_back(row_of(history.repairs[repair++]));
  return rows;
}

}  // namespace

int run_command(const HistoryCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  const UnitHistory history = history_of(store, command.serial);
  if (!history.standing) {
    std::cerr << "No test of " << command.serial << " is kept here.\n";
    return kNegative;
  }
  write_table(rows_of(history), std::cout);
  std::cout << "standing: " << history.standing->word << ". " << history.standing->reason << "\n";
  return kOk;
}

}  // namespace endgate::daemon

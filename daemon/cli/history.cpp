// `endgate history SERIAL`

#include <iostream>
#include <map>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/text_table.h"
#include "daemon/definitions/serial.h"
#include "daemon/line/say_time.h"
#include "daemon/queries/against_birth.h"
#include "daemon/queries/unit_events.h"

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

// What is no test: a word in the column of purposes, the rest in words.
TextRow event_row(const UnitEvent& event) {
  const std::string gone = withdrawn_words(event);
  return {std::to_string(event.position),
          "",
          say_utc_minute(event.entry.utc_ms),
          "",
          "",
          event.entry.what,
          gone.empty() ? "" : "withdrawn",
          "",
          gone.empty() ? event.entry.words : gone + ". It said: " + event.entry.words};
}

// Everything by position, the one order that is certain.
std::vector<TextRow> rows_of(const UnitHistory& history) {
  std::map<schema::Position, TextRow> by_position;
  for (const schema::StoredRecord& test : history.tests)
    by_position.emplace(test.position, row_of(test));
  for (const UnitEvent& event : events_of(history))
    by_position.emplace(event.position, event_row(event));
  std::vector<TextRow> rows{{"position", "attempt", "start (UTC)", "model", "bench", "purpose",
                             "verdict", "standing", "reason"}};
  for (auto& [position, row] : by_position) rows.push_back(std::move(row));
  return rows;
}

std::string upper(std::string text) {
  for (char& c : text) c = c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
  return text;
}

// What else could have been meant by a number of which nothing is kept.
std::string hint_for(const schema::StoreReader& store, const std::string& number) {
  if (!store.lots_with(number).empty())
    return " It is a lot: `endgate where " + number + "` tells its units.";
  if (!store.serials_of_batch(number).empty()) return " It is a batch, not a unit.";
  std::string serial = upper(number);
  if (store.records_of(serial).empty() && serial.size() > 1) {
    const auto check = check_character(serial.substr(0, serial.size() - 1));
    if (check) serial.back() = *check;
  }
  if (!store.records_of(serial).empty()) return " Did you mean " + serial + "?";
  return "";
}

}  // namespace

int run_command(const HistoryCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  const std::string serial = serial_known_as(store, command.serial);
  const UnitHistory history = history_of(store, serial);
  if (!history.standing && events_of(history).empty()) {
    std::cerr << "Nothing of " << command.serial << " is kept here."
              << hint_for(store, command.serial) << "\n";
    return kNegative;
  }
  if (serial != command.serial)
    std::cerr << command.serial << " is a part of unit " << serial << ".\n";
  write_table(rows_of(history), std::cout);
  if (!history.tests.empty())
    if (const auto against = against_birth(history, history.tests.back()))
      std::cout << "against birth: " << against->sentence << "\n";
  if (history.standing)
    std::cout << "standing: " << history.standing->word << ". " << history.standing->reason << "\n";
  return kOk;
}

}  // namespace endgate::daemon

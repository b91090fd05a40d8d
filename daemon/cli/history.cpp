// `endgate history SERIAL`

#include <algorithm>
#include <cctype>
#include <iostream>
#include <map>

#include "analysis/say_number.h"
#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/text_table.h"
#include "daemon/line/known_subject.h"
#include "daemon/line/say_time.h"
#include "daemon/queries/more_limits.h"
#include "daemon/queries/unit_events.h"
#include "daemon/views/birth_view.h"

namespace endgate::daemon {
namespace {

// Said from the probability where it was kept: older records wrote "100 %".
std::string likely_cause_of(const schema::Record& record) {
  if (record.causes.empty()) return record.likely_cause;
  const schema::CauseStated& cause = record.causes.front();
  return cause.name + ", " + analysis::say_probability(cause.probability);
}

std::string reason_of(const schema::Record& record) {
  std::string said = deciding_words(record.reasons);
  if (!record.would_have_been.empty())
    said += " What was completed " + record.would_have_been + ".";
  const std::string cause = likely_cause_of(record);
  if (!cause.empty()) said += " Likely cause: " + cause + ".";
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

bool same_but_for_case(const std::string& a, const std::string& b) {
  return std::ranges::equal(
      a, b, [](unsigned char x, unsigned char y) { return std::toupper(x) == std::toupper(y); });
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

// One row per metric that both tests have.
std::vector<TextRow> rows_against_birth(const BirthCompared& birth) {
  TextRow head{"metric", "change since birth", "over its uncertainty", "so it is"};
  const auto rows = change_rows(birth.against, birth.earlier ? &*birth.earlier : nullptr);
  const bool with_bench =
      std::ranges::any_of(birth.against.differences,
                          [](const analysis::Difference& one) { return one.bench.has_value(); });
  if (with_bench) head.push_back("bench reads more since, taken out");
  if (birth.earlier) head.push_back("middle 80 % of earlier returns of that age");
  std::vector<TextRow> table{std::move(head)};
  for (const reports::ChangeRow& row : rows) {
    TextRow cells{row.name, row.change, row.weight, row.meaning};
    if (with_bench) cells.push_back(row.bench);
    if (birth.earlier) cells.push_back(row.earlier);
    table.push_back(std::move(cells));
  }
  return table;
}

void tell_against_birth(const schema::StoreReader& store, const UnitHistory& history) {
  const auto birth = compared_with_birth(store, history);
  if (!birth) return;
  std::cout << "against birth: " << birth->against.sentence << "\n";
  if (birth->earlier) std::cout << "earlier returns: " << words_of(*birth->earlier) << "\n";
  if (!birth->against.differences.empty()) write_table(rows_against_birth(*birth), std::cout);
}

}  // namespace

int run_command(const HistoryCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  if (command.serial.empty()) {
    std::cerr << "endgate: say which unit: its serial is empty\n";
    return kUsage;
  }
  const std::string serial = serial_known_as(store, command.serial);
  const UnitHistory history = history_of(store, serial);
  if (!history.standing && events_of(history).empty()) {
    std::cerr << "Nothing of " << command.serial << " is kept here."
              << meant_by(store, command.serial) << "\n";
    return kNegative;
  }
  if (serial != command.serial && !same_but_for_case(serial, command.serial))
    std::cerr << command.serial << " is a part of unit " << serial << ".\n";
  write_table(rows_of(history), std::cout);
  tell_against_birth(store, history);
  if (history.standing)
    std::cout << "standing: " << history.standing->word << ". " << history.standing->reason << "\n";
  return kOk;
}

}  // namespace endgate::daemon

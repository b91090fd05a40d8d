// `endgate export --csv` and `--jsonl`

#include <iostream>
#include <optional>

#include "daemon/cli/aside_file.h"
#include "daemon/cli/asked_tests.h"
#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/definitions/date.h"
#include "daemon/exchange/export_results.h"

namespace endgate::daemon {
namespace {

using std::chrono::days;
using std::chrono::milliseconds;

// The beginning of that day, so many days later; nothing for an empty text.
std::optional<std::int64_t> begin_of(const std::string& day, days later) {
  if (day.empty()) return std::nullopt;
  const auto date = date_of(day);
  if (!date) throw ConfigurationFault("\"" + day + "\": a day is written YYYY-MM-DD");
  return milliseconds((*date + later).time_since_epoch()).count();
}

std::int64_t write(const ExportCommand& command, std::ostream& out) {
  const ResultsAsked asked{.imported = command.imported,
                           .model = command.model,
                           .bench = command.bench,
                           .batch = command.batch,
                           .purpose = command.purpose,
                           .since_utc_ms = begin_of(command.since, days(0)),
                           .before_utc_ms = begin_of(command.until, days(1))};
  const schema::StoreReader store(store_folder(command.store));
  ResultWriter writer(command.csv ? TableForm::csv : TableForm::json_lines,
                      command.si ? ResultUnits::si : ResultUnits::as_shown, out);
  export_results(store, asked, writer);
  return writer.rows();
}

// A name nobody knows gives a sentence, not an empty table.
bool can_be_asked(const ExportCommand& command) {
  if (command.imported || command.model.empty()) return true;
  const schema::StoreReader store(store_folder(command.store));
  return filter_asked(store, {.model = command.model,
                              .bench = command.bench,
                              .batch = command.batch,
                              .purpose = command.purpose.empty() ? kAllPurposes : command.purpose,
                              .since = command.since})
      .has_value();
}

}  // namespace

int run_command(const ExportCommand& command) {
  if (!can_be_asked(command)) return kUsage;
  std::int64_t rows = 0;
  if (command.out.empty()) {
    rows = write(command, std::cout);
  } else {
    AsideFile file(command.out);
    rows = write(command, file.stream());
    file.finish();
  }
  std::cerr << rows << (command.imported ? " imported results\n" : " tests\n");
  return kOk;
}

}  // namespace endgate::daemon

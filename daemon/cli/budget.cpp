// `endgate budget SERIAL`: through which causes is each number of a test uncertain?

#include <cmath>
#include <iostream>
#include <optional>
#include <utility>

#include "analysis/grade_words.h"
#include "analysis/say_number.h"
#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/text_table.h"
#include "daemon/queries/budget_told.h"
#include "daemon/queries/csv.h"
#include "schema/store.h"

namespace endgate::daemon {
namespace {

constexpr int kBudgetDigits = 3;

std::optional<schema::Record> budgeted_record(const BudgetCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  std::optional<schema::Record> found;  // the newest, unless another attempt is asked for
  for (schema::StoredRecord& test : store.records_of(command.serial))
    if (command.attempt == 0 || test.record.start.attempt == command.attempt)
      found = std::move(test.record);
  return found;
}

void tell_budget(const schema::Record& record) {
  std::vector<TextRow> rows{{"metric", "through", "u (k = 1)", "share of u\u00B2"}};
  for (const Budget& budget : budgets_of(record)) {
    const analysis::Words words = analysis::words_of_metric(budget.metric);
    const auto in_unit = [&](double u) {
      return csv_number(u * std::abs(words.unit.factor), kBudgetDigits) + " " +
             std::string(words.unit.name);
    };
    rows.push_back({budget.metric, "all causes", in_unit(budget.u), ""});
    for (const BudgetLine& line : budget.lines)
      rows.push_back({"", line.cause, in_unit(line.u), analysis::say_probability(line.share)});
  }
  std::cout << record.start.serial << " attempt " << record.start.attempt << "\n";
  write_table(rows, std::cout);
}

}  // namespace

int run_command(const BudgetCommand& command) {
  const std::optional<schema::Record> record = budgeted_record(command);
  if (!record) {
    std::cerr << "No test of " << command.serial << " is kept here.\n";
    return kNegative;
  }
  if (budgets_of(*record).empty()) {
    std::cerr << "This test has no number with an uncertainty.\n";
    return kNegative;
  }
  tell_budget(*record);
  return kOk;
}

}  // namespace endgate::daemon

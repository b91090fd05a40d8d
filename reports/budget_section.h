// Where does the uncertainty of each number come from?  A table per number, folded away.

#pragma once

#include <string>
#include <vector>

#include "reports/node.h"

namespace endgate::reports {

// Through which causes one number is uncertain.
struct BudgetRow {
  std::string cause{}, u{}, share{};
};
struct BudgetTable {
  std::string name{}, u{};  // "Flow at 400 kPa", "0.21 L/min"
  std::vector<BudgetRow> rows{};
};

[[nodiscard]] Node budgets_of(const std::vector<BudgetTable>& budgets);

}  // namespace endgate::reports

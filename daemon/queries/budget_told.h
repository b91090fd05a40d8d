// Through which causes is each number of a test uncertain?
//
//   share = u_i^2 / u^2 of the cause i, largest first
//
// What the parts leave of u^2 is told as "not attributed".  Sealed with the record; nothing is
// computed anew.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "schema/facts.h"

namespace endgate::daemon {

struct BudgetLine {
  std::string cause{};  // in words: "calibration of flow, bench north, version 2"
  double u = 0;         // SI of the metric, without sign
  double share = 0;     // 0 to 1
};
struct Budget {
  std::string metric{};
  std::optional<double> value{};  // SI
  double u = 0;
  std::vector<BudgetLine> lines{};
};

// One per metric with a value and a u, in the order of the record.
[[nodiscard]] std::vector<Budget> budgets_of(const schema::Record& record);

// "random" -> "scatter within the test"; a cause that is not known speaks for itself.
[[nodiscard]] std::string words_of_cause(const std::string& cause);

}  // namespace endgate::daemon

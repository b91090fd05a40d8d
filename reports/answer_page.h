// A question about many tests and its answer: what is said, drawings, tables.
//
// One frame for questions that need nothing of their own: studies of the measurement, the curve of
// a data sheet, units side by side, endurance.

#pragma once

#include <string>
#include <vector>

#include "reports/form.h"
#include "reports/node.h"
#include "reports/trend_page.h"

namespace endgate::reports {

struct AnswerPart {
  std::string heading{}, short_name{};  // the second in the tooltip
  std::vector<std::string> words{};
  std::vector<Node> drawings{};
  WordTable table{};  // without rows: none
};

struct AnswerPage {
  std::string here{}, heading{};
  QuestionForm form{};
  std::vector<std::string> statements{};  // the first is the most important
  std::vector<AnswerPart> parts{};
};

[[nodiscard]] std::string page_of(const AnswerPage& page);

}  // namespace endgate::reports

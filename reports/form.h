// A question asked by filling in fields: a plain GET form, whose answer has an address.

#pragma once

#include <string>
#include <vector>

#include "reports/node.h"

namespace endgate::reports {

struct FormChoice {
  std::string value{}, words{};
};

struct FormField {
  std::string name{}, caption{}, value{};
  std::vector<FormChoice> choices{};  // empty: a text is typed
  std::string example{};              // of a typed text
};

struct QuestionForm {
  std::string action{};
  std::vector<FormField> fields{};
  std::vector<std::pair<std::string, std::string>> kept{};  // name and value, not shown
  std::string button = "Show";
};

[[nodiscard]] Node draw(const QuestionForm& form);

}  // namespace endgate::reports

// The units that hold a lot of parts, in the words and drawings of their page.

#pragma once

#include <string>
#include <vector>

#include "daemon/queries/lot_told.h"
#include "reports/answer_page.h"

namespace endgate::daemon {

inline constexpr const char* kLotsAddress = "/lots";

// "/lots/R-1?part=reed"
[[nodiscard]] std::string address_of_lot(const std::string& lot, const std::string& part);

// `parts`: those that lots were entered of.
[[nodiscard]] reports::QuestionForm lot_form(const std::string& lot, const std::string& part,
                                             const std::vector<std::string>& parts);
[[nodiscard]] reports::AnswerPage lot_page_of(const LotTold& told, reports::QuestionForm form);

}  // namespace endgate::daemon

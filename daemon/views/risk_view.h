// How surely whole units are judged, in the words and drawings of its page.

#pragma once

#include "daemon/queries/unit_risk_told.h"
#include "daemon/views/tests_asked.h"
#include "reports/answer_page.h"

namespace endgate::daemon {

inline constexpr const char* kRiskAddress = "/risk";

[[nodiscard]] reports::QuestionForm risk_form(const TestsAsked& asked, const TestsKnown& known);
[[nodiscard]] reports::AnswerPage risk_page_of(const UnitRiskTold& told,
                                               reports::QuestionForm form);

}  // namespace endgate::daemon

// A study of the measurement in the words and drawings of its page.

#pragma once

#include "daemon/queries/gauge_told.h"
#include "daemon/views/study_asked.h"
#include "reports/answer_page.h"

namespace endgate::daemon {

inline constexpr const char* kGaugeAddress = "/gauge";

[[nodiscard]] reports::QuestionForm gauge_form(const StudyQuestion& question,
                                               const TestsKnown& known);
[[nodiscard]] reports::AnswerPage gauge_page(const GaugeTold& told, reports::QuestionForm form);
[[nodiscard]] reports::AnswerPage one_unit_page(const OneUnitTold& told,
                                                reports::QuestionForm form);

}  // namespace endgate::daemon

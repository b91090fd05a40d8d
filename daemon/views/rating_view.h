// The curve of a data sheet in the words and the drawing of its page.

#pragma once

#include "daemon/queries/rating_told.h"
#include "daemon/views/tests_asked.h"
#include "reports/answer_page.h"

namespace endgate::daemon {

inline constexpr const char* kRatingAddress = "/rating";

// In per cent, as written; empty: 99 of units, 95 of confidence.
struct CoverageAsked {
  std::string share{}, confidence{};
};
// Or what is wrong with it: both lie between 50 and 99.99 %.
[[nodiscard]] std::optional<statistics::Coverage> read_coverage(const CoverageAsked& asked);
inline constexpr const char* kWrongCoverage =
    "The share of units and the confidence are per cent from 50 to 99.9, such as 99 and 95.";

[[nodiscard]] reports::QuestionForm rating_form(const TestsAsked& asked, const TestsKnown& known,
                                                const CoverageAsked& coverage);
[[nodiscard]] reports::AnswerPage rating_page(const RatingTold& told, reports::QuestionForm form);

}  // namespace endgate::daemon

// The list of tests in the words of its page: which were asked for, and where the next page is.

#pragma once

#include <optional>
#include <string>

#include "daemon/queries/tests_listed.h"
#include "daemon/views/tests_asked.h"
#include "reports/unit_page.h"

namespace endgate::daemon {

// As written in the address.
struct UnitsAsked {
  TestsAsked tests{.purpose = kAllPurposes};
  std::string verdict{};  // empty: all
  std::string before{};   // a position; empty: from the newest on
};
// Nothing: it can be asked.
[[nodiscard]] std::optional<WrongQuestion> wrong_with(const UnitsAsked& asked,
                                                      const TestsKnown& known);
[[nodiscard]] ListAsked list_of(const UnitsAsked& asked);  // of a question that can be asked
[[nodiscard]] reports::QuestionForm units_form(const UnitsAsked& asked, const TestsKnown& known);
[[nodiscard]] reports::UnitsPage units_page_of(const TestsListed& listed, const UnitsAsked& asked,
                                               const TestsKnown& known);

}  // namespace endgate::daemon

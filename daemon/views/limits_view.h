// Which limits a model had, and which control limits were frozen, in the words of their pages.

#pragma once

#include <string>
#include <vector>

#include "daemon/line/control_history.h"
#include "daemon/line/limit_history.h"
#include "daemon/views/tests_asked.h"
#include "reports/answer_page.h"

namespace endgate::daemon {

inline constexpr const char* kLimitsAddress = "/limits";
inline constexpr const char* kControlAddress = "/control";

// `asked`: model and metric count.
[[nodiscard]] reports::QuestionForm limits_form(const std::string& address, const TestsAsked& asked,
                                                const TestsKnown& known);
// Every accepted text of the limits of one model, oldest first.
using LimitVersions = std::vector<schema::Definition>;

// The limit of a class has its metric as "class A: fad_600" (daemon/line/limit_history.h).
struct ClassAndMetric {
  std::string in_class{}, metric{};  // class: empty for a limit of every unit
};
[[nodiscard]] ClassAndMetric class_and_metric(const std::string& told);

// `versions` is not empty; `changes` between them.
[[nodiscard]] reports::AnswerPage limits_page_of(const LimitVersions& versions,
                                                 const std::vector<LimitChange>& changes,
                                                 const TestsAsked& asked,
                                                 reports::QuestionForm form);

// `texts` of that model, in order; drawn are those of the metric that is asked for.
[[nodiscard]] reports::AnswerPage control_page_of(const std::vector<FrozenText>& texts,
                                                  const TestsAsked& asked,
                                                  reports::QuestionForm form);

}  // namespace endgate::daemon

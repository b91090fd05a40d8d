// All units of a model in the words of their page.

#pragma once

#include <string>
#include <vector>

#include "daemon/queries/capability_told.h"
#include "daemon/queries/cause_agreement.h"
#include "daemon/queries/fail_causes.h"
#include "daemon/queries/returns_told.h"
#include "daemon/queries/what_if.h"
#include "daemon/queries/yield_told.h"
#include "daemon/views/tests_asked.h"
#include "reports/population_page.h"

namespace endgate::daemon {

inline constexpr const char* kPopulationAddress = "/population";

// A draft limit as it was typed, in the metric's display unit; both empty: none was asked about.
struct DraftAsked {
  std::string lower{}, upper{};
  [[nodiscard]] bool empty() const { return lower.empty() && upper.empty(); }
};
struct DraftRead {
  DraftLimit limit{};   // SI
  std::string wrong{};  // which text is no number, in a sentence; empty: none
};
[[nodiscard]] DraftRead read_draft(const std::string& metric, const DraftAsked& draft);

struct PopulationTold {
  TestsAsked asked{};  // its metric is the one of the draft
  TestsKnown known{};
  std::vector<CapabilityTold> capabilities{};  // of metrics that have values
  YieldTold yield{};
  FailCauses causes{};
  DraftAsked draft{};
  std::string draft_wrong{};
  std::optional<WhatIf> answer{};  // nothing: not asked, or the metric had no limit
  struct Returns {
    ReturnsTold told{};
    CauseAgreement agreement{};
  };
  std::optional<Returns> returns{};  // only when asked: every test of the model is looked at
};

[[nodiscard]] reports::QuestionForm population_form(const TestsAsked& asked,
                                                    const TestsKnown& known);
[[nodiscard]] reports::PopulationPage population_page_of(const PopulationTold& told);

}  // namespace endgate::daemon

// What is the whole life of this unit?

#pragma once

#include <string>
#include <vector>

#include "reports/budget_section.h"
#include "reports/form.h"
#include "reports/node.h"

namespace endgate::reports {

struct LifeEvent {
  std::string verdict{};
  std::string name{};  // "Attempt 2, birth"
  std::string when{};  // "2026-11-25 10:42, bench north"
  std::string href{};
  bool chosen = false;
  bool no_test = false;     // a return, repair, decision ...: what it says is its name
  std::string withdrawn{};  // not empty: by whom and why; what it says is struck through
};

struct MetricRow {
  std::string name{}, unit{};
  std::string birth{};    // of the birth test; empty when that is the chosen one
  std::string value{};    // with ± U, or a dash and the reason
  std::string limit{};    // "at least 44.0"
  std::string outcome{};  // pass, fail, undecided, or empty without a limit
  Node ruler{};
  bool missing = false;  // `value` says why there is none
};

struct ChangeRow {
  std::string name{};
  std::string change{};   // "−5.6 ± 0.5 L/min"
  std::string weight{};   // the change over its expanded uncertainty
  std::string meaning{};  // "more than its uncertainty"
  bool significant = false;
  std::string earlier{};  // what earlier returns of that age changed by
  std::string bench{};    // what the bench reads more now, taken out: "+0.3 ± 0.1 L/min"
};

struct CauseRow {
  std::string name{}, probability{};  // "Inlet filter or suction reed", "81 %"
  std::string evidence{}, told_apart_by{};
};

struct NamedFact {
  std::string name{}, value{};
  std::string href{};  // where more of it is told; empty: no link
};

struct ChannelChoice {
  std::string name{}, href{};
  bool chosen = false;
};

struct UnitPage {
  std::string serial{};
  std::string about{};    // "Model P1-60-12 · batch 48-B2"
  std::string verdict{};  // of the latest test
  std::string standing{}, standing_reason{};
  std::vector<LifeEvent> life{};  // oldest first
  std::string chosen_name{};      // "Attempt 3"
  std::string sentence{};
  Node curve{}, curve_table{};
  bool has_birth = false;
  std::vector<MetricRow> metrics{};
  std::string against_birth{};  // one sentence; empty: nothing to hold against
  std::string taken_out{};
  std::vector<ChangeRow> changes{};
  bool bench_taken_out = false;  // of one at least: then a column says what
  std::vector<std::string> reasons{};
  std::vector<CauseRow> causes{};  // likeliest first
  std::vector<BudgetTable> budgets{};
  std::vector<NamedFact> buyer{};  // fill times and the like
  std::vector<NamedFact> facts{};
  std::string trace_title{};
  std::string trace_sentence{};
  std::vector<ChannelChoice> channels{};
  Node trace{};                           // empty tag: none kept
  std::vector<NamedFact> withdrawable{};  // entries by position, what each says
  std::string earlier_returns{};          // which those are; empty: not told, no column
  std::vector<NamedFact> findings{};      // causes of the list: id and name, to choose from
  std::vector<NamedFact> questions{};     // further pages about it: words and address
};

[[nodiscard]] std::string page_of(const UnitPage& unit);

struct UnitRow {
  std::string serial{}, href{}, verdict{}, reason{}, when{}, bench{}, model{}, batch{}, purpose{};
  Node curve{};
};
struct UnitsPage {
  QuestionForm form{};
  std::string sentence{};
  std::vector<UnitRow> rows{};
  std::string older_href{}, newest_href{};  // other pages of the list; empty: none
};
[[nodiscard]] std::string page_of(const UnitsPage& units);

}  // namespace endgate::reports

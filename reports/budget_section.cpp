#include "reports/budget_section.h"

#include <utility>

namespace endgate::reports {
namespace {

Node budget_cell(const char* tag, const std::string& words, const std::string& class_names = "") {
  return Node(tag, class_names).say(words);
}

Node budget_table(const BudgetTable& budget) {
  Node body("tbody");
  Node whole("tr");
  whole.add(Node("th").set("scope", "row").say("All causes together"));
  body.add(std::move(whole)
               .add(budget_cell("td", budget.u, "number strong"))
               .add(budget_cell("td", "")));
  for (const BudgetRow& row : budget.rows) {
    Node line("tr");
    line.add(Node("th").set("scope", "row").say(row.cause));
    body.add(std::move(line)
                 .add(budget_cell("td", row.u, "number"))
                 .add(budget_cell("td", row.share, "number")));
  }
  Node head("tr");
  head.add(budget_cell("th", budget.name)).add(budget_cell("th", "u (k = 1)", "number"));
  head.add(budget_cell("th", "Share of u²", "number"));
  Node table("table");
  return std::move(table).add(Node("thead").add(std::move(head))).add(std::move(body));
}

}  // namespace

Node budgets_of(const std::vector<BudgetTable>& budgets) {
  Node more("details");
  more.add(budget_cell("summary", "Where the uncertainty of each number comes from"));
  for (const BudgetTable& budget : budgets)
    more.add(Node("div", "scroll").add(budget_table(budget)));
  return more;
}

}  // namespace endgate::reports

#include "reports/returns_section.h"

#include "reports/words.h"

namespace endgate::reports {
namespace {

Node head_of(const std::vector<const char*>& names) {
  Node head("tr");
  for (std::size_t i = 0; i < names.size(); ++i)
    head.add(words("th", names[i], i == 0 ? "" : "number"));
  return Node("thead").add(std::move(head));
}

Node table_of(const std::vector<const char*>& names, Node body) {
  Node table("table");
  table.add(head_of(names)).add(std::move(body));
  return Node("div", "scroll").add(std::move(table));
}

Node ages_of(const ReturnsShown& shown) {
  Node body("tbody");
  for (const AgeRow& row : shown.ages)
    body.add(Node("tr")
                 .add(words("th", row.age))
                 .add(words("td", row.out, "number"))
                 .add(words("td", row.units, "number")));
  return table_of({"Age", "Still out, with its 95 % interval", "Units in use that long"},
                  std::move(body));
}

Node metrics_of(const ReturnsShown& shown) {
  Node body("tbody");
  for (const TellsRow& row : shown.metrics)
    body.add(Node("tr")
                 .add(words("th", row.metric))
                 .add(words("td", row.ratio, row.told ? "number strong" : "number"))
                 .add(words("td", row.chance, "number"))
                 .add(words("td", row.returns, "number"))
                 .add(words("td", row.told ? "tells" : "not told apart from chance", "quiet")));
  return table_of({"Metric at birth", "Comes back so many times as often, one step of rank up",
                   "Share expected to be chance, at most", "Returns", ""},
                  std::move(body));
}

Node agreement_of(const ReturnsShown& shown) {
  Node body("tbody");
  for (const AgreementRow& row : shown.agreement)
    body.add(Node("tr")
                 .add(words("th", row.found))
                 .add(words("td", row.first, "number"))
                 .add(words("td", row.among_two, "number"))
                 .add(words("td", row.repairs, "number")));
  return table_of({"Found in a repair", "Stated first", "Among the first two", "Repairs"},
                  std::move(body));
}

}  // namespace

Node section_of(const ReturnsShown& shown) {
  Node sheet("section", "sheet wide");
  sheet.set("id", "returns").add(words("h2", "Which units come back?"));
  sheet.add(words("p", shown.back, "say"));
  for (const std::string& note : shown.notes) sheet.add(words("p", note, "quiet"));
  if (!shown.curve.steps.empty()) {
    sheet.add(Node("div", "scroll").add(draw(shown.curve)));
    sheet.add(words("p", shown.form)).add(ages_of(shown));
  }
  sheet.add(words("h3", "Did their birth records tell?")).add(words("p", shown.metrics_said));
  if (!shown.metrics.empty()) sheet.add(metrics_of(shown));
  sheet.add(words("h3", "Was the likely cause what people found?"));
  sheet.add(words("p", shown.agreement_said));
  if (!shown.agreement.empty()) sheet.add(agreement_of(shown));
  if (!shown.quarters.empty()) {
    sheet.add(words("p",
                    "By time of the repair: how often the cause that was found had been stated "
                    "first. Whisker: 95 % interval."));
    sheet.add(Node("div", "scroll")
                  .add(draw_bars(shown.quarters, "Likely cause and finding agree, by quarter")));
  }
  return sheet;
}

}  // namespace endgate::reports

#include "reports/unit_page.h"

#include "reports/budget_section.h"
#include "reports/page_frame.h"
#include "reports/signs.h"

namespace endgate::reports {
namespace {

Node cell(const char* tag, const std::string& words, const std::string& class_names = "") {
  return Node(tag, class_names).say(words);
}

Node heading_of(const UnitPage& unit) {
  Node left("div");
  left.add(cell("h1", unit.serial, "code")).add(cell("p", unit.about, "quiet"));
  Node right("div", "standing");
  right.add(verdict_mark(unit.verdict));
  right.add(Node("p").add(cell("b", "Standing: " + unit.standing)));
  right.add(cell("p", unit.standing_reason, "quiet"));
  return Node("header", "unit-head").add(std::move(left)).add(std::move(right));
}

Node event_of(const LifeEvent& event) {
  Node item("li", event.chosen ? "chosen" : "");
  if (event.no_test) {
    item.add(cell(event.withdrawn.empty() ? "b" : "s", event.name));
    item.add(cell("span", event.when, "quiet"));
    if (!event.withdrawn.empty()) item.add(cell("span", event.withdrawn));
    return item;
  }
  Node link("a");
  link.set("href", event.href);
  if (event.chosen) link.set("aria-current", "true");
  link.add(verdict_mark(event.verdict)).add(cell("span", event.name));
  return std::move(item).add(std::move(link)).add(cell("span", event.when, "quiet"));
}

Node life_of(const UnitPage& unit) {
  Node line("ol", "life");
  line.set("aria-label", "What happened to this unit, oldest first");
  for (const LifeEvent& event : unit.life) line.add(event_of(event));
  return line;
}

Node section(const std::string& heading, const std::string& class_names) {
  return Node("section", class_names).add(cell("h2", heading));
}

Node curve_section(const UnitPage& unit) {
  Node part = section(unit.chosen_name, "sheet");
  part.add(cell("p", unit.sentence, "say"));
  part.add(Node("div", "scroll").add(unit.curve));
  Node more("details");
  more.add(cell("summary", "Table")).add(unit.curve_table);
  return std::move(part).add(std::move(more));
}

Node metric_row(const MetricRow& row, bool has_birth) {
  Node line("tr");
  line.add(Node("th").set("scope", "row").say(row.name + " ").add(cell("span", row.unit, "quiet")));
  if (has_birth) line.add(cell("td", row.birth, "number"));
  line.add(cell("td", row.value, row.missing ? "number missing" : "number strong"))
      .add(cell("td", row.limit, "quiet limit"));
  line.add(Node("td").add(row.ruler));
  Node result("td");
  if (!row.outcome.empty()) result.add(verdict_mark(row.outcome));
  return std::move(line).add(std::move(result));
}

Node metrics_table(const UnitPage& unit) {
  Node head("tr");
  head.add(cell("th", "Metric"));
  if (unit.has_birth) head.add(cell("th", "Birth", "number"));
  head.add(cell("th", unit.chosen_name, "number")).add(cell("th", "Limit"));
  head.add(cell("th", "Against limit")).add(cell("th", "Result"));
  Node body("tbody");
  for (const MetricRow& row : unit.metrics) body.add(metric_row(row, unit.has_birth));
  return Node("div", "scroll")
      .add(Node("table").add(Node("thead").add(std::move(head))).add(std::move(body)));
}

Node causes_of(const UnitPage& unit) {
  Node list("ol");
  for (const CauseRow& cause : unit.causes) {
    Node item("li");
    item.add(cell("b", cause.name + ", " + cause.probability)).say(". " + cause.evidence);
    if (!cause.told_apart_by.empty()) item.say(" ").add(cell("span", cause.told_apart_by, "quiet"));
    list.add(std::move(item));
  }
  return Node("div").add(cell("h3", "Likely cause")).add(std::move(list));
}

Node metrics_section(const UnitPage& unit) {
  Node part = section("Metrics", "sheet");
  part.add(metrics_table(unit));
  part.add(cell("p",
                "± is the expanded uncertainty, k = 2. Right of the bar is good; hatching is the "
                "guard band.",
                "quiet"));
  part.add(cell("h3", "Why"));
  for (const std::string& reason : unit.reasons) part.add(cell("p", reason));
  if (!unit.causes.empty()) part.add(causes_of(unit));
  if (!unit.budgets.empty()) part.add(budgets_of(unit.budgets));
  return part;
}

Node change_row(const ChangeRow& row, bool with_bench, bool with_earlier) {
  Node line("tr");
  line.add(Node("th").set("scope", "row").say(row.name))
      .add(cell("td", row.change, row.significant ? "number strong" : "number"))
      .add(cell("td", row.weight, "number"))
      .add(cell("td", row.meaning, "quiet"));
  if (with_bench) line.add(cell("td", row.bench, "number"));
  if (with_earlier) line.add(cell("td", row.earlier, "number"));
  return line;
}

Node birth_section(const UnitPage& unit) {
  Node part = section(unit.chosen_name + " against birth", "sheet wide");
  part.add(cell("p", unit.against_birth, "say"));
  if (unit.changes.empty()) return part;
  Node weight("th", "number");
  weight.set("title", "E_n, k = 2").say("Change over its uncertainty");
  Node head("tr");
  head.add(cell("th", "Metric")).add(cell("th", "Change since birth", "number"));
  head.add(std::move(weight)).add(cell("th", "So it is"));
  const bool with_earlier = !unit.earlier_returns.empty();
  if (unit.bench_taken_out) head.add(cell("th", "Bench, taken out", "number"));
  if (with_earlier) head.add(cell("th", "Middle 80 % of earlier returns of that age", "number"));
  Node body("tbody");
  for (const ChangeRow& row : unit.changes)
    body.add(change_row(row, unit.bench_taken_out, with_earlier));
  Node table("table");
  table.add(Node("thead").add(std::move(head))).add(std::move(body));
  part.add(Node("div", "scroll").add(std::move(table)));
  if (with_earlier) part.add(cell("p", unit.earlier_returns, "quiet"));
  return std::move(part).add(cell("p", unit.taken_out, "quiet"));
}

Node trace_section(const UnitPage& unit) {
  Node part = section(unit.trace_title, "sheet wide");
  part.add(cell("p", unit.trace_sentence));
  if (unit.trace.tag.empty()) return part;
  Node choice("p", "choices");
  choice.say("Channel ");
  for (const ChannelChoice& channel : unit.channels) {
    Node link("a");
    link.set("href", channel.href).say(channel.name);
    if (channel.chosen) link.set("aria-current", "true");
    choice.add(std::move(link)).say(" ");
  }
  return std::move(part).add(std::move(choice)).add(Node("div", "scroll").add(unit.trace));
}

Node named_list(const std::vector<NamedFact>& facts) {
  Node list("dl");
  for (const NamedFact& fact : facts) {
    Node value("dd");
    if (fact.href.empty())
      value.say(fact.value);
    else
      value.add(cell("a", fact.value).set("href", fact.href));
    list.add(Node("div").add(cell("dt", fact.name)).add(std::move(value)));
  }
  return list;
}

Node buyer_section(const UnitPage& unit) {
  Node part = section("What it means for the buyer", "sheet wide");
  part.add(named_list(unit.buyer));
  return std::move(part).add(
      cell("p",
           "Computed from this unit's curve at nominal voltage. A real fill lies between a vessel "
           "that gives off all its heat and one that keeps it; the pressure of a hot vessel falls "
           "again while it cools.",
           "quiet"));
}

Node facts_section(const UnitPage& unit) {
  Node part = section("How was this found?", "sheet wide");
  return std::move(part).add(named_list(unit.facts));
}

// What people may enter about the unit; the service says why when it keeps nothing.
struct Asked {
  const char* name;
  const char* caption;
  bool needed = true;
};

Node field_of(const Asked& asked) {
  Node input("input");
  input.set("name", asked.name).set("autocomplete", "off");
  if (asked.needed) input.set("required", "required");
  Node label("label");
  label.say(std::string(asked.caption) + " ");
  return std::move(label).add(std::move(input));
}

// A text to type, with words to choose from.
Node finding_field(const UnitPage& unit) {
  Node input("input"), list("datalist");
  input.set("name", "finding").set("autocomplete", "off").set("required", "required");
  input.set("list", "findings");
  list.set("id", "findings");
  for (const NamedFact& cause : unit.findings)
    list.add(Node("option").set("value", cause.name).say(cause.value));
  Node label("label");
  label.say("What was found, a cause or in words ");
  return std::move(label).add(std::move(input)).add(std::move(list));
}

Node choice_of(const char* name, const char* caption, const std::vector<NamedFact>& choices) {
  Node select("select");
  select.set("name", name);
  for (const NamedFact& choice : choices)
    select.add(Node("option").set("value", choice.name).say(choice.value));
  Node label("label");
  label.say(std::string(caption) + " ");
  return std::move(label).add(std::move(select));
}

Node entry_form(const std::string& kind, const std::string& serial, Node first,
                const std::vector<Asked>& fields, const char* act) {
  Node form("form", "command entry");
  form.set("data-address", "/api/v1/facts/" + kind).set("data-then", "/units/" + serial);
  if (kind != "withdrawal")  // the entry says what it was about
    form.add(Node("input").set("type", "hidden").set("name", "serial").set("value", serial));
  form.add(std::move(first));
  for (const Asked& asked : fields) form.add(field_of(asked));
  form.add(Node("button").set("type", "submit").say(act));
  return std::move(form).add(Node("p", "answer").set("role", "alert"));
}

Node entry(const char* title, Node form) {
  return Node("details").add(cell("summary", title)).add(std::move(form));
}

Node withdraw_form(const UnitPage& unit) {
  return entry_form("withdrawal", unit.serial, choice_of("position", "Entry", unit.withdrawable),
                    {{"why", "Why"},
                     {"by", "Your name"},
                     {"second_by", "Second name, for a scrap or a concession", false}},
                    "Withdraw the entry");
}

Node enter_section(const UnitPage& unit) {
  const std::string& serial = unit.serial;
  Node part = section("Enter", "sheet wide");
  part.add(
      entry("The unit came back", entry_form("return", serial, field_of({"complaint", "Complaint"}),
                                             {{"condition", "Condition as received", false},
                                              {"months_in_use", "Months in use", false},
                                              {"hours_in_use", "Hours running", false},
                                              {"by", "Your name"}},
                                             "Keep the return")));
  part.add(entry("It was repaired",
                 entry_form("repair", serial, finding_field(unit),
                            {{"parts", "What was replaced; part=lot names its lot", false},
                             {"by", "Your name"}},
                            "Keep the repair")));
  part.add(
      entry("A decision was made",
            entry_form(
                "decision", serial,
                choice_of("decision", "Decision",
                          {{"retest", "retest"}, {"scrap", "scrap"}, {"concession", "concession"}}),
                {{"reason", "Reason"},
                 {"by", "Your name"},
                 {"second_by", "Second name, for a concession", false}},
                "Keep the decision")));
  if (!unit.withdrawable.empty()) part.add(entry("An entry was a mistake", withdraw_form(unit)));
  return part;
}

Node questions_of(const std::vector<NamedFact>& questions) {
  Node line("p", "questions");
  for (std::size_t i = 0; i < questions.size(); ++i) {
    Node link("a");
    link.set("href", questions[i].value).say(questions[i].name);
    if (i > 0) line.add(Node("span").say(" \u00B7 "));
    line.add(std::move(link));
  }
  return line;
}

Node units_row(const UnitRow& row) {
  Node link("a", "code");
  link.set("href", row.href).say(row.serial);
  return Node("tr")
      .add(Node("td").add(row.curve))
      .add(Node("td").add(std::move(link)))
      .add(Node("td").add(verdict_mark(row.verdict)))
      .add(cell("td", row.reason))
      .add(cell("td", row.model, "quiet code"))
      .add(cell("td", row.batch, "quiet code"))
      .add(cell("td", row.bench, "quiet"))
      .add(cell("td", row.purpose, "quiet"))
      .add(cell("td", row.when, "number"));
}

}  // namespace

std::string page_of(const UnitPage& unit) {
  Node main("main", "unit");
  main.add(heading_of(unit)).add(life_of(unit));
  if (!unit.questions.empty()) main.add(questions_of(unit.questions));
  main.add(Node("div", unit.has_birth ? "two compared" : "two")
               .add(curve_section(unit))
               .add(metrics_section(unit)));
  if (!unit.against_birth.empty()) main.add(birth_section(unit));
  if (!unit.buyer.empty()) main.add(buyer_section(unit));
  main.add(trace_section(unit)).add(facts_section(unit)).add(enter_section(unit));
  return page_text({.title = unit.serial + ", " + word_of_verdict(unit.verdict),
                    .here = "Units",
                    .main = std::move(main)});
}

std::string page_of(const UnitsPage& units) {
  Node head("tr");
  for (const char* name :
       {"Curve", "Serial", "Verdict", "Reason", "Model", "Batch", "Bench", "Purpose", "Start"})
    head.add(cell("th", name, std::string(name) == "Start" ? "number" : ""));
  Node body("tbody");
  for (const UnitRow& row : units.rows) body.add(units_row(row));
  Node main("main", "units");
  main.add(cell("h1", "Units")).add(draw(units.form)).add(cell("p", units.sentence, "say"));
  main.add(Node("p").add(Node("a").set("href", "/import").say("Import results or lots of parts")));
  Node sheet("section", "sheet wide scroll");
  if (!units.rows.empty())
    sheet.add(Node("table").add(Node("thead").add(std::move(head))).add(std::move(body)));
  main.add(std::move(sheet));
  std::vector<NamedFact> further;
  if (!units.newest_href.empty()) further.push_back({"Newest tests", units.newest_href});
  if (!units.older_href.empty()) further.push_back({"Older tests", units.older_href});
  further.push_back({"Units side by side", "/compare"});
  further.push_back({"Units with a lot of parts", "/lots"});
  main.add(questions_of(further));
  return page_text({"Units", "Units", std::move(main)});
}

}  // namespace endgate::reports

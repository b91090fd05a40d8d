#include "reports/bench_page.h"

#include "reports/page_frame.h"
#include "reports/words.h"

namespace endgate::reports {
namespace {

Node head_row(const std::vector<std::string>& columns) {
  Node row("tr");
  for (const std::string& column : columns) row.add(words("th", column));
  return Node("thead").add(std::move(row));
}

Node list_of(const std::vector<std::string>& lines) {
  Node list("ul", "due");
  for (const std::string& line : lines) list.add(words("li", line));
  return list;
}

Node due_of(const BenchPage& bench) {
  if (bench.due.empty()) return words("p", "Nothing is due.", "say");
  return list_of(bench.due);
}

Node channels_of(const BenchPage& bench) {
  Node body("tbody");
  for (const BenchChannelRow& row : bench.channels) {
    Node link("a");
    link.set("href", row.href).say("Calibrate");
    body.add(Node("tr")
                 .add(words("th", row.name))
                 .add(words("td", row.now, "number"))
                 .add(words("td", row.numbers))
                 .add(words("td", row.calibrated))
                 .add(words("td", row.due, row.overdue ? "strong" : ""))
                 .add(Node("td").add(std::move(link))));
  }
  Node table("table");
  table.add(head_row({"Channel", "Now", "Gain and offset", "Calibrated", "Valid until", ""}));
  Node part("section", "sheet wide");
  return std::move(part)
      .add(words("h2", "Channels"))
      .add(Node("div", "scroll").add(std::move(table).add(std::move(body))));
}

Node reference_of(const BenchPage& bench) {
  Node part("section", "sheet wide");
  part.add(words("h2", "Reference units over time"));
  part.add(words("p", bench.reference_words));
  if (bench.reference.spots.empty()) return part;
  part.add(key_of(bench.reference, "Reference unit"));
  part.add(Node("div", "scroll").add(draw(bench.reference)));
  return std::move(part).add(words("p", "", "chosen").set("id", "chosen"));
}

std::vector<std::vector<std::string>> rows_of(const std::vector<BenchCheckRow>& checks) {
  std::vector<std::vector<std::string>> rows;
  for (const BenchCheckRow& check : checks)
    rows.push_back({check.when, check.what, check.found, check.outcome, check.by, check.position});
  return rows;
}

std::vector<std::vector<std::string>> rows_of(const std::vector<BenchPartRow>& parts) {
  std::vector<std::vector<std::string>> rows;
  for (const BenchPartRow& part : parts) rows.push_back({part.name, part.used, part.due});
  return rows;
}

std::vector<std::vector<std::string>> rows_of(const std::vector<CalibrationVersionRow>& history) {
  std::vector<std::vector<std::string>> rows;
  for (const CalibrationVersionRow& row : history)
    rows.push_back({row.version, row.when, row.by, row.why});
  return rows;
}

}  // namespace

Node word_table(const std::string& heading, const std::vector<std::string>& columns,
                const std::vector<std::vector<std::string>>& rows) {
  Node part("section", "sheet wide");
  part.add(words("h2", heading));
  if (rows.empty()) return std::move(part).add(words("p", "None yet."));
  Node body("tbody");
  for (const std::vector<std::string>& row : rows) {
    Node line("tr");
    for (const std::string& cell : row) line.add(words("td", cell));
    body.add(std::move(line));
  }
  Node table("table");
  table.add(head_row(columns)).add(std::move(body));
  return std::move(part).add(Node("div", "scroll").add(std::move(table)));
}

std::string page_of(const BenchPage& bench) {
  Node main("main");
  main.add(words("h1", bench.heading)).add(words("p", bench.sentence, "say")).add(due_of(bench));
  main.add(channels_of(bench)).add(reference_of(bench));
  main.add(word_table("Checks, newest first",
                      {"When", "Check", "Found", "Outcome", "By", "Position"},
                      rows_of(bench.checks)));
  main.add(
      word_table("Parts that wear", {"Part", "Used since replaced", "Due"}, rows_of(bench.parts)));
  main.add(word_table("Calibrations, newest first", {"Version", "When", "By", "Why"},
                      rows_of(bench.history)));
  return page_text({bench.heading, "Benches", std::move(main)});
}

std::string benches_page(const std::vector<BenchListRow>& benches) {
  Node main("main");
  main.add(words("h1", "Benches"));
  Node part("section", "sheet wide");
  for (const BenchListRow& bench : benches) {
    Node link("a");
    link.set("href", bench.href).say(bench.name);
    part.add(Node("h2").add(std::move(link))).add(words("p", bench.sentence));
    part.add(list_of(bench.lines));
  }
  return page_text({"Benches", "Benches", std::move(main).add(std::move(part))});
}

}  // namespace endgate::reports

#include "reports/population_page.h"

#include "reports/number.h"
#include "reports/page_frame.h"
#include "reports/words.h"

namespace endgate::reports {
namespace {

Node head_cell(const std::string& text, const std::string& short_name = "",
               const std::string& class_names = "number") {
  Node cell = words("th", text, class_names);
  if (!short_name.empty()) cell.set("title", short_name);
  return cell;
}

Node index_cell(const IndexWords& index) {
  if (index.value.empty()) return words("td", kMissing, "number");
  Node cell = words("td", index.value, "number");
  return std::move(cell).add(words("div", index.interval, "quiet small"));
}

Node two_lines(const std::string& first, const std::string& second) {
  return words("td", first, "number").add(words("div", second, "quiet small"));
}

Node row_of(const FitRow& fit) {
  Node link("a");
  link.set("href", fit.href).say(fit.metric);
  Node ruler("td");
  if (fit.ruler) ruler.add(draw(*fit.ruler));
  return Node("tr")
      .add(Node("th").add(std::move(link)))
      .add(words("td", fit.units, "number"))
      .add(words("td", fit.mean, "number"))
      .add(two_lines(fit.inside_batches, fit.over_all))
      .add(words("td", fit.limits, "span"))
      .add(std::move(ruler))
      .add(index_cell(fit.room_inside))
      .add(index_cell(fit.room_all))
      .add(index_cell(fit.width_inside))
      .add(index_cell(fit.width_all))
      .add(index_cell(fit.by_percentiles))
      .add(words("td", fit.proposal, "span"));
}

Node head_of_fits() {
  Node head("tr");
  head.add(head_cell("Metric", "", "")).add(head_cell("Units")).add(head_cell("Mean"));
  head.add(head_cell("Standard deviation inside batches, below it over all"));
  head.add(head_cell("Limits", "", ""));
  head.add(head_cell("Mean and 3 standard deviations; right of the bar is good", "", ""));
  head.add(head_cell("Room to the nearer limit, scatter inside batches", "Cpk"));
  head.add(head_cell("Room to the nearer limit, all scatter", "Ppk"));
  head.add(head_cell("Width of the limits, scatter inside batches", "Cp"));
  head.add(head_cell("Width of the limits, all scatter", "Pp"));
  head.add(head_cell("Room by percentiles", "Ppk by the percentile method"));
  head.add(head_cell("99 % of units lie", "tolerance interval, confidence 95 %", ""));
  return Node("thead").add(std::move(head));
}

Node fits_of(const PopulationPage& page) {
  Node sheet("section", "sheet wide");
  sheet.add(words("h2", "Do they fit inside their limits?"));
  if (page.fits.empty()) return std::move(sheet).add(words("p", "No metric has ten units yet."));
  sheet.add(
      words("p",
            "Room and width count in units of 3 and 6 standard deviations: at 1 the limit lies "
            "just there. Below each its 95 % interval. While the process moves they say "
            "nothing: look at the trend of the metric first.",
            "quiet"));
  Node body("tbody");
  for (const FitRow& fit : page.fits) body.add(row_of(fit));
  Node table("table", "fits");
  table.add(head_of_fits()).add(std::move(body));
  sheet.add(Node("div", "scroll").add(std::move(table)));
  if (page.left_out.empty()) return sheet;
  Node far("details");
  far.add(words("summary", "Units far from all others, left out of these numbers"));
  for (const std::string& sentence : page.left_out) far.add(words("p", sentence));
  return std::move(sheet).add(std::move(far));
}

Node shares_of(const PopulationPage& page) {
  Node body("tbody");
  for (const ShareRow& row : page.shares)
    body.add(Node("tr").add(words("th", row.name)).add(words("td", row.share)));
  return Node("table", "shares").add(std::move(body));
}

void add_bars(Node& sheet, const std::string& heading, const std::string& said,
              const std::vector<ShareBar>& bars) {
  sheet.add(words("h3", heading)).add(words("p", said, "quiet"));
  if (!bars.empty()) sheet.add(Node("div", "scroll").add(draw_bars(bars, heading)));
}

Node yield_of(const PopulationPage& page) {
  Node sheet("section", "sheet wide");
  sheet.add(words("h2", "How many pass at their first test, and why not the others?"));
  sheet.add(shares_of(page));
  add_bars(sheet, "Deciding reason, most frequent first", page.reasons_words, page.reasons);
  add_bars(sheet, "Likely cause, most frequent first", page.causes_words, page.causes);
  if (!page.stops.empty()) sheet.add(words("h3", "Stopped by a person"));
  for (const std::string& stop : page.stops) sheet.add(words("p", stop));
  return sheet;
}

Node changed_of(const PopulationPage& page) {
  Node line("p");
  line.say("Changed: ");
  for (const auto& [serial, address] : page.changed) {
    Node link("a", "code");
    line.add(std::move(link).set("href", address).say(serial)).say(" ");
  }
  if (page.changed_more > 0) line.say("and " + std::to_string(page.changed_more) + " more");
  return line;
}

Node draft_of(const PopulationPage& page) {
  Node sheet("section", "sheet wide");
  sheet.set("id", "draft").add(words("h2", "What would another limit change?"));
  sheet.add(words(
      "p", "This only computes: kept values are held against the draft, and no limit changes.",
      "quiet"));
  sheet.add(draw(page.draft));
  if (!page.draft_refusal.empty())
    sheet.add(words("p", page.draft_refusal, "say").set("role", "alert"));
  for (std::size_t i = 0; i < page.draft_words.size(); ++i)
    sheet.add(words("p", page.draft_words[i], i == 0 ? "say" : ""));
  if (!page.changed.empty()) sheet.add(changed_of(page));
  if (page.histogram) sheet.add(Node("div", "scroll").add(draw(*page.histogram)));
  return sheet;
}

Node linked(const std::string& question, const std::string& address) {
  Node link("a");
  link.set("href", address).say(question);
  return Node("p").add(std::move(link));
}

}  // namespace

std::string page_of(const PopulationPage& page) {
  Node main("main");
  main.add(words("h1", page.heading)).add(draw(page.form));
  for (std::size_t i = 0; i < page.statements.size(); ++i)
    main.add(words("p", page.statements[i], i == 0 ? "say" : ""));
  main.add(fits_of(page)).add(yield_of(page)).add(draft_of(page));
  if (page.returns) main.add(section_of(*page.returns));
  if (!page.returns_href.empty())
    main.add(linked("Which units come back, and who could have known", page.returns_href));
  for (const auto& [question, address] : page.more) main.add(linked(question, address));
  return page_text({page.heading, "Population", std::move(main)});
}

}  // namespace endgate::reports

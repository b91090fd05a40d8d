#include "reports/trend_page.h"

#include "reports/page_frame.h"

namespace endgate::reports {
namespace {

Node words(const char* tag, const std::string& text, const std::string& class_names = "") {
  return Node(tag, class_names).say(text);
}

Node menu_of(const TrendMenu& menu) {
  Node line("p", "choices");
  line.say(menu.name + " ");
  for (const TrendMenu::Entry& entry : menu.entries) {
    Node link("a");
    link.set("href", entry.href).say(entry.words);
    if (entry.chosen) link.set("aria-current", "true");
    line.add(std::move(link)).say(" ");
  }
  return line;
}

Node table_of(const TrendPage& trend) {
  Node head("tr");
  for (const std::string& name : {trend.chart.place_title, std::string("Bench"), std::string("n"),
                                  trend.chart.unit, trend.whisker_title})
    head.add(words("th", name));
  Node body("tbody");
  for (const TrendRowWords& row : trend.rows) {
    Node link("a");
    link.set("href", row.href).say(row.place);
    body.add(Node("tr")
                 .add(Node("td").add(std::move(link)))
                 .add(words("td", row.bench))
                 .add(words("td", row.count, "number"))
                 .add(words("td", row.value, "number"))
                 .add(words("td", row.whisker, "number")));
  }
  Node more("details");
  more.add(words("summary", "Table"));
  Node table("table");
  table.add(words("caption", trend.sentence)).add(Node("thead").add(std::move(head)));
  return std::move(more).add(Node("div", "scroll").add(std::move(table).add(std::move(body))));
}

}  // namespace

std::string page_of(const TrendPage& trend) {
  Node main("main", "trend");
  main.add(words("h1", trend.heading));
  for (const TrendMenu& menu : trend.menus) main.add(menu_of(menu));
  Node sheet("section", "sheet wide");
  sheet.add(words("p", trend.sentence, "say"));
  if (!trend.chart.spots.empty()) {
    sheet.add(key_of(trend.chart, trend.key_words));
    if (!trend.ring_words.empty()) sheet.add(words("p", trend.ring_words, "quiet"));
    sheet.add(Node("div", "scroll").add(draw(trend.chart)));
    sheet.add(words("p", "", "chosen").set("id", "chosen"));
    sheet.add(table_of(trend));
  }
  return page_text({trend.heading, "Trends", std::move(main).add(std::move(sheet))});
}

}  // namespace endgate::reports

#include "reports/trend_page.h"

#include "reports/bench_page.h"
#include "reports/page_frame.h"
#include "reports/words.h"

namespace endgate::reports {
namespace {

Node folded(const std::string& summary, Node table) {
  Node more("details");
  more.add(words("summary", summary));
  return std::move(more).add(Node("div", "scroll").add(std::move(table)));
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
  Node table("table");
  table.add(words("caption", trend.chart.description)).add(Node("thead").add(std::move(head)));
  return std::move(table).add(std::move(body));
}

Node half_of(const ChartPair::Half& half) {
  Node figure("div");
  figure.add(words("p", half.sentence));
  if (!half.chart.values.empty()) figure.add(draw(half.chart));
  return figure;
}

Node pair_of(const ChartPair& pair) {
  Node heading = words("h2", pair.heading);
  if (!pair.short_name.empty()) heading.set("title", pair.short_name);
  Node sheet("section", "sheet wide");
  sheet.add(std::move(heading)).add(words("p", pair.words, "quiet"));
  if (pair.without_bench.sentence.empty()) return std::move(sheet).add(half_of(pair.measured));
  return std::move(sheet).add(
      Node("div", "two even").add(half_of(pair.measured)).add(half_of(pair.without_bench)));
}

Node sheet_of(const TrendPage& trend) {
  Node sheet("section", "sheet wide");
  for (std::size_t i = 0; i < trend.statements.size(); ++i)
    sheet.add(words("p", trend.statements[i], i == 0 ? "say" : ""));
  if (!trend.more_href.empty()) {
    Node link("a");
    sheet.add(Node("p").add(std::move(link).set("href", trend.more_href).say(trend.more_words)));
  }
  for (const auto& [name, href] : trend.questions) {
    Node link("a");
    sheet.add(Node("p").add(std::move(link).set("href", href).say(name)));
  }
  if (!trend.together_href.empty()) {
    Node link("a");
    sheet.add(Node("p").add(
        std::move(link).set("href", trend.together_href).say("Several metrics together")));
  }
  if (trend.chart.spots.empty()) return sheet;
  sheet.add(key_of(trend.chart, trend.key_words));
  if (!trend.ring_words.empty()) sheet.add(words("p", trend.ring_words, "quiet"));
  sheet.add(Node("div", "scroll").add(draw(trend.chart)));
  sheet.add(words("p", "", "chosen").set("id", "chosen"));
  return std::move(sheet).add(folded("Table", table_of(trend)));
}

Node together_sheet(const TogetherPart& part) {
  Node sheet("section", "sheet wide");
  sheet.add(words("h2", part.heading).set("title", part.short_name));
  sheet.add(words("p", part.sentence));
  if (part.chart.values.empty()) return sheet;
  sheet.add(words("p", part.words, "quiet"));
  sheet.add(Node("div", "scroll").add(draw(part.chart)));
  if (part.signals.rows.empty()) return sheet;
  Node table = word_table(part.signals.heading, part.signals.columns, part.signals.rows);
  return std::move(sheet).add(std::move(table));
}

Node control_sheet(const TrendPage& trend) {
  Node sheet("section", "sheet wide");
  sheet.add(words("h2", "Control limits and signals"));
  for (const std::string& sentence : trend.control) sheet.add(words("p", sentence));
  if (trend.signals.rows.empty()) {
    if (!trend.no_signal_words.empty()) sheet.add(words("p", trend.no_signal_words));
    return sheet;
  }
  Node table = word_table(trend.signals.heading, trend.signals.columns, trend.signals.rows);
  return std::move(sheet).add(std::move(table));
}

}  // namespace

std::string page_of(const TrendPage& trend) {
  Node main("main", "trend");
  main.add(words("h1", trend.heading)).add(draw(trend.form)).add(sheet_of(trend));
  if (!trend.control.empty()) main.add(control_sheet(trend));
  Node tables("div", "two even");
  for (const WordTable& table : trend.tables)
    if (!table.rows.empty()) tables.add(word_table(table.heading, table.columns, table.rows));
  if (!tables.children.empty()) main.add(std::move(tables));
  for (const ChartPair& pair : trend.pairs) main.add(pair_of(pair));
  if (!trend.together.sentence.empty()) main.add(together_sheet(trend.together));
  if (!trend.numbers.rows.empty())
    main.add(folded(trend.numbers.heading,
                    word_table(trend.numbers.heading, trend.numbers.columns, trend.numbers.rows)));
  return page_text({trend.heading, "Trends", std::move(main)});
}

std::string refusal_page(const std::string& here, const std::string& heading,
                         const std::string& sentence, const QuestionForm& form) {
  Node main("main");
  main.add(words("h1", heading)).add(words("p", sentence, "say").set("role", "alert"));
  return page_text({heading, here, std::move(main).add(draw(form))});
}

}  // namespace endgate::reports

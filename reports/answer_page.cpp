#include "reports/answer_page.h"

#include "reports/page_frame.h"
#include "reports/words.h"

namespace endgate::reports {
namespace {

// The first column names the row.
Node first_cell(const WordTable& table, std::size_t row) {
  const std::string& name = table.rows[row].front();
  if (row >= table.hrefs.size() || table.hrefs[row].empty()) return words("th", name);
  return Node("th").add(words("a", name).set("href", table.hrefs[row]));
}

Node table_of_answer(const WordTable& table_words) {
  const auto kind = [&](std::size_t column) {
    return column < table_words.text_columns ? "" : "number";
  };
  Node head("tr");
  for (std::size_t i = 0; i < table_words.columns.size(); ++i)
    head.add(words("th", table_words.columns[i], kind(i)).set("scope", "col"));
  Node body("tbody");
  for (std::size_t r = 0; r < table_words.rows.size(); ++r) {
    Node row("tr");
    row.add(first_cell(table_words, r));
    for (std::size_t i = 1; i < table_words.rows[r].size(); ++i)
      row.add(words("td", table_words.rows[r][i], kind(i)));
    body.add(std::move(row));
  }
  Node table("table");
  if (!table_words.heading.empty()) table.add(words("caption", table_words.heading));
  table.add(Node("thead").add(std::move(head))).add(std::move(body));
  return Node("div", "scroll").add(std::move(table));
}

Node section_of_answer(const AnswerPart& part) {
  Node heading = words("h2", part.heading);
  if (!part.short_name.empty()) heading.set("title", part.short_name);
  Node sheet("section", "sheet wide");
  sheet.add(std::move(heading));
  for (const std::string& sentence : part.words) sheet.add(words("p", sentence));
  for (const Node& drawing : part.drawings) sheet.add(Node("div", "scroll").add(drawing));
  if (!part.table.rows.empty()) sheet.add(table_of_answer(part.table));
  return sheet;
}

}  // namespace

std::string page_of(const AnswerPage& page) {
  Node main("main");
  main.add(words("h1", page.heading)).add(draw(page.form));
  for (std::size_t i = 0; i < page.statements.size(); ++i)
    main.add(words("p", page.statements[i], i == 0 ? "say" : ""));
  for (const AnswerPart& part : page.parts) main.add(section_of_answer(part));
  return page_text({page.heading, page.here, std::move(main)});
}

}  // namespace endgate::reports

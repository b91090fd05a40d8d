#include "reports/import_page.h"

#include "reports/node.h"
#include "reports/page_frame.h"
#include "reports/words.h"

namespace endgate::reports {
namespace {

struct ImportField {
  const char* name;
  const char* caption;
  const char* example;
};

Node typed_field(const ImportField& asked) {
  Node label("label");
  label.say(std::string(asked.caption) + " ");
  return std::move(label).add(Node("input")
                                  .set("name", asked.name)
                                  .set("placeholder", asked.example)
                                  .set("autocomplete", "off"));
}

Node file_field() {
  Node label("label");
  label.say("File, CSV or JSON Lines ");
  return std::move(label).add(Node("input")
                                  .set("type", "file")
                                  .set("name", "file")
                                  .set("accept", ".csv,.jsonl,.ndjson")
                                  .set("required", "required"));
}

Node bad_rows_field() {
  Node select("select");
  select.set("name", "good_rows");
  select.add(Node("option").set("value", "no").say("keep nothing"));
  select.add(Node("option").set("value", "yes").say("keep the good rows"));
  Node label("label");
  label.say("If a row is bad ");
  return std::move(label).add(std::move(select));
}

Node import_form(const std::string& address, std::vector<Node> fields, const char* act) {
  Node form("form", "command entry");
  form.set("data-address", address).add(file_field());
  form.add_all(std::move(fields)).add(Node("button").set("type", "submit").say(act));
  form.add(Node("p", "answer").set("role", "alert"));
  return std::move(form).add(Node("ol", "faults whole").set("aria-label", "Faults of the file"));
}

Node results_section() {
  Node sheet("section", "sheet wide");
  sheet.add(words("h2", "Results of tests"));
  sheet.add(words("p",
                  "One row a test, the columns named as an export names them: serial, model and "
                  "start are needed. They are shown with their unit and count in no standing and "
                  "no trend."));
  return std::move(sheet).add(import_form(
      "/api/v1/import",
      {typed_field({"source", "Read from", "test book 2019, pages 1 to 40"}),
       typed_field({"by", "Your name", ""}), typed_field({"why", "Why", ""}),
       typed_field({"left_out", "Columns not to read", "Remarks; Box number"}), bad_rows_field()},
      "Import results"));
}

Node lots_section() {
  Node sheet("section", "sheet wide");
  sheet.add(words("h2", "Lots of parts"));
  sheet.add(words("p",
                  "One row a part: column serial or batch, then part and lot. What is known "
                  "already is left away."));
  return std::move(sheet).add(
      import_form("/api/v1/import/lots",
                  {typed_field({"source", "Read from", "delivery note 4711"}),
                   typed_field({"by", "Your name", ""})},
                  "Import lots"));
}

Node files_section(const std::vector<ImportedFile>& files) {
  Node head("tr"), body("tbody");
  for (const char* name : {"Read from", "Imported", "By", "Why"}) head.add(words("th", name));
  for (const ImportedFile& file : files)
    body.add(Node("tr")
                 .add(words("th", file.source))
                 .add(words("td", file.when))
                 .add(words("td", file.by))
                 .add(words("td", file.why)));
  Node sheet("section", "sheet wide scroll");
  sheet.add(words("h2", "Files of results so far"));
  if (files.empty()) return std::move(sheet).add(words("p", "None was imported yet."));
  return std::move(sheet).add(
      Node("table").add(Node("thead").add(std::move(head))).add(std::move(body)));
}

}  // namespace

std::string page_of(const ImportPage& page) {
  Node main("main");
  main.add(words("h1", "Import")).add(results_section()).add(lots_section());
  return page_text({"Import", "Units", std::move(main).add(files_section(page.files))});
}

}  // namespace endgate::reports

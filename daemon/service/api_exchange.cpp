// Results as files: a page of them out, a whole file in.  Lots of parts as a file in.

#include <algorithm>
#include <sstream>

#include "daemon/exchange/export_results.h"
#include "daemon/line/enter_import.h"
#include "daemon/line/enter_lots_file.h"
#include "daemon/service/command_body.h"
#include "daemon/service/handlers.h"
#include "daemon/service/json_write.h"
#include "daemon/service/parameters.h"
#include "daemon/service/store_query.h"

namespace endgate::daemon::handle {
namespace {

constexpr std::int64_t kMostRows = 5000, kRowsUnlessTold = 1000;

std::optional<std::int64_t> number_or(const Request& request, const std::string& name,
                                      std::int64_t otherwise, std::int64_t most) {
  const std::string asked = query_value(request, name);
  return asked.empty() ? std::optional(otherwise) : whole_number(asked, most);
}

Response table(const schema::StoreReader& store, const ResultsAsked& asked, TableForm form) {
  std::ostringstream out;
  ResultWriter writer(form, ResultUnits::si, out);
  export_results(store, asked, writer);
  const bool csv = form == TableForm::csv;
  Response response;
  response.content_type = csv ? "text/csv; charset=utf-8" : "application/jsonl; charset=utf-8";
  response.file_name = csv ? "results.csv" : "results.jsonl";
  response.body = std::move(out).str();
  return response;
}

// The first ones, each with its line.
std::vector<std::string> told(const std::vector<TableFault>& faults) {
  std::vector<std::string> said;
  for (std::size_t i = 0; i < std::min(faults.size(), kMostFaultsTold); ++i)
    said.push_back(say(faults[i], "line "));
  if (said.size() < faults.size())
    said.push_back("and " + std::to_string(faults.size() - said.size()) + " more");
  return said;
}

// A file with faults lists them apart from the sentence.
Response file_refused(const CommandRefusal& no, const std::vector<TableFault>& faults) {
  Response response = refusal(no.http_status, no.code, no.sentence);
  if (faults.empty()) return response;
  const std::string count = std::to_string(faults.size());
  response.body = refusal_json(no.code,
                               count + (faults.size() == 1 ? " fault" : " faults") +
                                   " in the file, listed by line. Nothing was kept.",
                               told(faults));
  return response;
}

// What was kept, and which rows were left away.
std::function<void(Application::Entered)> answering_file(const Reply& reply,
                                                         const std::vector<TableFault>& left) {
  if (left.empty()) return answering<Application::Entered>(reply, accepted_of);
  return [reply, left](const Application::Entered& answer) {
    if (const auto* no = std::get_if<CommandRefusal>(&answer))
      return reply(refusal(no->http_status, no->code, no->sentence));
    Response response;
    response.body = accepted_json(std::get<Application::Accepted>(answer).id +
                                      "; the rows that are listed by line were left away",
                                  told(left));
    reply(std::move(response));
  };
}

void keep_import(Application& application, const Fields& fields, const Reply& reply) {
  std::vector<TableFault> faults;
  const auto read = read_import(fields, &faults);
  if (const auto* no = std::get_if<CommandRefusal>(&read)) return reply(file_refused(*no, faults));
  application.enter([good = std::get<ImportRead>(read), folder = application.store_folder()](
                        schema::StoreWriter& writer) { return enter_import(writer, folder, good); },
                    answering_file(reply, faults));
}

void keep_lots(Application& application, const Fields& fields, const Reply& reply) {
  const schema::StoreReader store(application.store_folder(),
                                  std::chrono::steady_clock::now() + kLongestQuestion);
  std::vector<TableFault> faults;
  const auto read = read_lots_file(fields, &store, &faults);
  if (const auto* no = std::get_if<CommandRefusal>(&read)) return reply(file_refused(*no, faults));
  application.enter([good = std::get<LotsFileRead>(read)](
                        schema::StoreWriter& writer) { return enter_lots_file(writer, good); },
                    answering_file(reply, {}));
}

// The body and its file are read away from the thread that hears Stop: they may be long.
using KeepFile = void (*)(Application&, const Fields&, const Reply&);
void import_file(Application& application, const Request& request, const Reply& reply,
                 const CommandShape& shape, KeepFile keep) {
  on_question_thread(application, reply, [&application, request, reply, shape, keep] {
    with_fields(request, reply, shape,
                [&](const Fields& fields) { keep(application, fields, reply); });
  });
}

}  // namespace

void export_results(Application& application, const Request& request, const Reply& reply) {
  const auto most = number_or(request, "count", kRowsUnlessTold, kMostRows);
  const bool from_the_first = query_value(request, "behind") == "0";
  const auto behind = from_the_first ? std::optional<std::int64_t>(0)
                                     : number_or(request, "behind", 0, kMostPosition);
  const std::string form = query_value(request, "form");
  const std::string results = query_value(request, "results");
  const bool known = results.empty() || results == "imported" || results == "own";
  if (!most || !behind || !known || (form != "csv" && form != "jsonl"))
    return reply(refusal(400, "U-219",
                         "form is csv or jsonl, results own or imported, count a whole number from "
                         "1 to 5000, behind the position of the last row you have."));
  const ResultsAsked asked{.imported = results == "imported",
                           .model = query_value(request, "model"),
                           .bench = query_value(request, "bench"),
                           .batch = query_value(request, "batch"),
                           .purpose = query_value(request, "purpose"),
                           .behind = *behind,
                           .most = most};
  ask_store(application, reply, [asked, form](const schema::StoreReader& store) {
    return table(store, asked, form == "csv" ? TableForm::csv : TableForm::json_lines);
  });
}

void import_results(Application& application, const Request& request, const Reply& reply) {
  import_file(application, request, reply,
              {.needed = {"text", "form", "source", "by", "why"},
               .optional = {"good_rows", "left_out"},
               .long_text = "text"},
              keep_import);
}

void import_lots(Application& application, const Request& request, const Reply& reply) {
  import_file(application, request, reply,
              {.needed = {"text", "form", "source", "by"}, .long_text = "text"}, keep_lots);
}

}  // namespace endgate::daemon::handle

#include "daemon/line/enter_import.h"

#include <algorithm>

#include "daemon/line/file_fields.h"
#include "daemon/line/wall_clock.h"
#include "schema/sha256.h"

namespace endgate::daemon {
namespace {

// "Remarks; Box number"
std::vector<std::string> names_in(const std::string& text) {
  std::vector<std::string> names;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find(';', at), text.size());
    const std::size_t first = std::min(text.find_first_not_of(' ', at), end);
    const std::size_t last = text.find_last_not_of(' ', end - 1);
    if (first < end) names.push_back(text.substr(first, last + 1 - first));
    at = end + 1;
  }
  return names;
}

std::string what_lacks(const EntryFields& fields) {
  if (!is_line_of_text(field_of(fields, "source")))
    return "Say in one line what the results were read from.";
  if (!is_line_of_text(field_of(fields, "by"))) return "Say in one line who imports them.";
  if (!is_line_of_text(field_of(fields, "why"))) return "Say in one line why they are imported.";
  return table_form_in(fields) ? "" : kTableForms;
}

// What every result of the file has in common.
void complete(std::vector<schema::ImportedTest>& tests, const EntryFields& fields) {
  const schema::Hash hash = schema::sha256_of(field_of(fields, "text"));
  const schema::WallClock now = wall_clock_now();
  for (schema::ImportedTest& test : tests) {
    test.source = field_of(fields, "source");
    test.by = field_of(fields, "by");
    test.why = field_of(fields, "why");
    test.file_sha256 = hash;
    test.at = now;
  }
}

bool is_kept(const ResultsRead& read, bool good_rows) {
  if (read.faults.empty()) return true;
  return good_rows && !read.tests.empty() &&
         std::ranges::none_of(read.faults, &TableFault::of_file);
}

}  // namespace

std::variant<ImportRead, CommandRefusal> read_import(const EntryFields& fields,
                                                     std::vector<TableFault>* faults) {
  if (const std::string lacks = what_lacks(fields); !lacks.empty())
    return nothing_kept("U-260", lacks);
  ResultsRead read = read_results(field_of(fields, "text"), *table_form_in(fields),
                                  names_in(field_of(fields, "left_out")));
  if (faults != nullptr) *faults = read.faults;
  if (!is_kept(read, field_of(fields, "good_rows") == "yes"))
    return nothing_kept("U-261", sentence_of(read.faults));
  complete(read.tests, fields);
  return ImportRead{std::move(read.tests), std::move(read.faults)};
}

std::optional<CommandRefusal> imported_before(const schema::StoreReader& store,
                                              const ImportRead& read) {
  const schema::ImportedTest& now = read.tests.front();
  for (const auto& [position, before] : store.imported_files()) {
    if (before.file_sha256 == now.file_sha256)
      return nothing_kept("U-262", "This file was imported before, as \"" + before.source +
                                       "\" by " + before.by + " (position " +
                                       std::to_string(position) + ").");
    if (before.source == now.source)
      return nothing_kept("U-262", "Another file was imported from \"" + now.source +
                                       "\" before (position " + std::to_string(position) +
                                       "). Give each file a source of its own, such as its pages.");
  }
  return std::nullopt;
}

Application::Entered enter_import(schema::StoreWriter& writer,
                                  const std::filesystem::path& store_folder,
                                  const ImportRead& read) {
  if (auto refusal = imported_before(schema::StoreReader(store_folder), read)) return *refusal;
  const schema::Position last = writer.append(read.tests);
  const auto count = static_cast<schema::Position>(read.tests.size());
  return Application::Accepted{
      std::to_string(count) + (count == 1 ? " imported result" : " imported results") +
      " (positions " + std::to_string(last - count + 1) + " to " + std::to_string(last) + ")"};
}

}  // namespace endgate::daemon

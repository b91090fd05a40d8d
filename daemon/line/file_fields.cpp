#include "daemon/line/file_fields.h"

#include <algorithm>

#include "schema/canonical_bytes.h"

namespace endgate::daemon {
namespace {

constexpr std::size_t kFaultsInSentence = 5;
constexpr std::size_t kMostSaid = 200;

}  // namespace

std::string field_of(const EntryFields& fields, const std::string& key) {
  const auto found = fields.find(key);
  return found == fields.end() ? "" : found->second;
}

bool is_line_of_text(const std::string& text) {
  return !text.empty() && text.size() <= kMostSaid && schema::is_utf8(text) &&
         std::ranges::none_of(text, [](char c) { return static_cast<unsigned char>(c) < 0x20; });
}

std::optional<TableForm> table_form_in(const EntryFields& fields) {
  const std::string form = field_of(fields, "form");
  if (form == "csv") return TableForm::csv;
  return form == "json_lines" ? std::optional(TableForm::json_lines) : std::nullopt;
}

std::string sentence_of(const std::vector<TableFault>& faults) {
  std::string all =
      std::to_string(faults.size()) + (faults.size() == 1 ? " fault" : " faults") + ".";
  for (std::size_t i = 0; i < std::min(faults.size(), kFaultsInSentence); ++i)
    all += " " + say(faults[i], "line ") + ".";
  return all;
}

}  // namespace endgate::daemon

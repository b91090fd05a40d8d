#include "daemon/views/units_view.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <utility>

#include "daemon/queries/more_limits.h"
#include "daemon/views/curves.h"
#include "daemon/views/shown.h"
#include "daemon/views/trend_words.h"

namespace endgate::daemon {
namespace {

constexpr std::array<const char*, 4> kVerdicts{"pass", "fail", "undecided", "void"};
constexpr const char* kUnitsAddress = "/units";

schema::Position position_in(const std::string& text) {
  schema::Position at = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), at);
  return read.ec == std::errc() && read.ptr == text.data() + text.size() ? at : 0;
}

std::string address_behind(const UnitsAsked& asked, schema::Position before) {
  std::string address = kUnitsAddress;
  auto add = [&, joint = '?'](const char* name, const std::string& value) mutable {
    if (value.empty()) return;
    address += std::exchange(joint, '&') + std::string(name) + "=" + address_part(value);
  };
  add("before", before > 0 ? std::to_string(before) : "");
  add("model", asked.tests.model);
  add("batch", asked.tests.batch);
  add("bench", asked.tests.bench);
  add("since", asked.tests.since);
  add("until", asked.tests.until);
  add("lot", asked.tests.lot);
  if (asked.tests.purpose != kAllPurposes) add("purpose", asked.tests.purpose);
  add("verdict", asked.verdict);
  return address;
}

reports::UnitRow row_of_list(const schema::StoredRecord& stored) {
  const schema::Record& record = stored.record;
  const schema::TestStart& start = record.start;
  return {.serial = start.serial,
          .href = "/units/" + address_part(start.serial) + "/" + std::to_string(start.attempt),
          .verdict = record.verdict,
          .reason = deciding_words(record.reasons),
          .when = date_and_minute(start.at.utc_ms),
          .bench = start.bench,
          .model = start.model,
          .batch = start.batch,
          .purpose = start.purpose,
          .curve = draw(flat_curve_of(record))};
}

std::string asked_words(const UnitsAsked& asked) {
  std::string words;
  const auto add = [&](const char* name, const std::string& value) {
    if (!value.empty()) words += std::string(", ") + name + " " + value;
  };
  add("verdict", asked.verdict);
  add("model", asked.tests.model);
  add("batch", asked.tests.batch);
  add("bench", asked.tests.bench);
  if (asked.tests.purpose != kAllPurposes) add("purpose", asked.tests.purpose);
  add("since", asked.tests.since);
  add("until", asked.tests.until);
  add("lot", asked.tests.lot);
  return words;
}

std::string sentence_of_list(const TestsListed& listed, const UnitsAsked& asked) {
  const std::string which = asked_words(asked);
  if (listed.matching == 0)
    return which.empty() ? "No unit has been tested yet." : "No test matches" + which + ".";
  if (listed.tests.empty()) return "There are no older tests" + which + ".";
  return "Tests " + std::to_string(listed.newer + 1) + " to " +
         std::to_string(listed.newer + listed.tests.size()) + " of " +
         reports::fixed(static_cast<double>(listed.matching), 0) + ", newest first" + which + ".";
}

}  // namespace

std::optional<WrongQuestion> wrong_with(const UnitsAsked& asked, const TestsKnown& known) {
  TestsAsked tests = asked.tests;
  if (tests.model.empty() && !known.models.empty()) tests.model = known.models.front();  // all
  if (!tests.model.empty())
    if (auto wrong = wrong_with(tests, known)) return wrong;
  if (!asked.verdict.empty() && std::ranges::find(kVerdicts, asked.verdict) == kVerdicts.end())
    return WrongQuestion{
        404, "There is no verdict " + asked.verdict + ". There are: pass, fail, undecided, void."};
  if (!asked.before.empty() && position_in(asked.before) < 1)
    return WrongQuestion{
        400, "A page begins before a position, a whole number, not \"" + asked.before + "\"."};
  return std::nullopt;
}

ListAsked list_of(const UnitsAsked& asked) {
  return {.filter = filter_of(asked.tests),
          .verdict = asked.verdict,
          .before = position_in(asked.before)};
}

reports::QuestionForm units_form(const UnitsAsked& asked, const TestsKnown& known) {
  reports::QuestionForm form{.action = kUnitsAddress, .fields = fields_of(asked.tests, known)};
  form.fields.front().choices.insert(form.fields.front().choices.begin(), {"", "all"});
  reports::FormField verdict{
      .name = "verdict", .caption = "Verdict", .value = asked.verdict, .choices = {{"", "all"}}};
  for (const char* word : kVerdicts) verdict.choices.push_back({word, word});
  form.fields.insert(form.fields.begin() + 1, verdict);
  return form;
}

reports::UnitsPage units_page_of(const TestsListed& listed, const UnitsAsked& asked,
                                 const TestsKnown& known) {
  reports::UnitsPage page{.form = units_form(asked, known),
                          .sentence = sentence_of_list(listed, asked)};
  for (const schema::StoredRecord& stored : listed.tests) page.rows.push_back(row_of_list(stored));
  if (listed.next_before > 0) page.older_href = address_behind(asked, listed.next_before);
  if (listed.newer > 0) page.newest_href = address_behind(asked, 0);
  return page;
}

}  // namespace endgate::daemon

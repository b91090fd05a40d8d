#include "daemon/views/lot_view.h"

#include <algorithm>

#include "analysis/say_number.h"
#include "daemon/queries/entry_told.h"
#include "daemon/queries/population_words.h"
#include "daemon/views/shown.h"
#include "reports/share_bars.h"

namespace endgate::daemon {
namespace {

constexpr std::size_t kUnitsShown = 500;

reports::ShareBar lot_bar(const std::string& name, const Share& share) {
  const statistics::Interval interval = share.interval();
  return {name, share.value(), interval.low, interval.high, share_words(share)};
}

reports::AnswerPart judged_part(const LotTold& told) {
  reports::AnswerPart part{.heading = "How they were judged",
                           .words = {"Units that had the lot from the start, at their first "
                                     "test. Bar: share of the units, whisker: its 95 % interval."}};
  std::vector<reports::ShareBar> bars{lot_bar("Passed", told.passed),
                                      lot_bar("Undecided", told.undecided),
                                      lot_bar("Failed", told.failed)};
  if (told.others_passed.of > 0)
    bars.push_back(lot_bar("For comparison: all other units, passed", told.others_passed));
  if (told.repaired_passed.of > 0)
    bars.push_back(lot_bar("Built in at a repair, passed behind it", told.repaired_passed));
  part.drawings.push_back(reports::draw_bars(bars, "Verdicts of the units with the lot"));
  return part;
}

reports::AnswerPart named_part(const std::string& heading, const std::string& of_what,
                               const std::vector<LotTold::Named>& all) {
  reports::AnswerPart part{.heading = heading, .words = {of_what}};
  std::vector<reports::ShareBar> bars;
  for (const LotTold::Named& named : all) bars.push_back(lot_bar(named.words, named.units));
  part.drawings.push_back(reports::draw_bars(bars, heading));
  return part;
}

std::string word_or_dash(const std::string& word) {
  return word.empty() ? reports::kMissing : word;
}

std::string lot_stated_for(const UnitWithLot& unit) {
  const std::string by = unit.repair > 0        ? "a repair"
                         : unit.through.empty() ? "the unit itself"
                                                : "batch " + unit.through;
  return unit.still_held ? by : by + "; holds another lot now";
}

std::vector<std::string> unit_cells(const UnitWithLot& unit) {
  const UnitWithLot::FirstTest& first = unit.first;
  const bool has_reason = first.verdict != "pass" && !first.reason_code.empty();
  return {unit.serial,
          word_or_dash(first.model),
          spelled(unit.part),
          lot_stated_for(unit),
          first.verdict.empty() ? "not tested" : first.verdict,
          has_reason ? reason_words(first.reason_code, first.reason_subject) : "",
          word_or_dash(unit.verdict),
          word_or_dash(unit.standing),
          unit.came_back ? "came back" : ""};
}

// What has to be looked at first: not passed, not released, came back.
bool is_in_question(const UnitWithLot& unit) {
  return (!unit.first.verdict.empty() && unit.first.verdict != "pass") || unit.came_back ||
         (!unit.standing.empty() && unit.standing != "release");
}

reports::AnswerPart units_part(const LotTold& told) {
  reports::AnswerPart part{.heading = "The units"};
  std::vector<UnitWithLot> units = told.units;
  std::ranges::stable_partition(units, is_in_question);
  const std::size_t shown = std::min(units.size(), kUnitsShown);
  if (std::ranges::any_of(units, is_in_question))
    part.words.emplace_back("First those that did not pass, are not released or came back.");
  if (shown < units.size())
    part.words.push_back("The first " + std::to_string(shown) + " of " +
                         std::to_string(units.size()) +
                         "; the command endgate where lists all of them.");
  part.table.columns = {
      "Serial",         "Model",       "Part",         "Lot stated for", "First test with it",
      "Why not passed", "Newest test", "Standing now", "Returns"};
  part.table.text_columns = part.table.columns.size();
  for (std::size_t i = 0; i < shown; ++i) {
    part.table.rows.push_back(unit_cells(units[i]));
    part.table.hrefs.push_back("/units/" + address_part(units[i].serial));
  }
  return part;
}

}  // namespace

std::string address_of_lot(const std::string& lot, const std::string& part) {
  const std::string named = part.empty() ? "" : "part=" + address_part(part);
  // No segment of a path may hold a separator or be one that leads upwards.
  if (lot.find_first_of("/\\") != std::string::npos || lot == "." || lot == "..")
    return std::string(kLotsAddress) + "?lot=" + address_part(lot) +
           (named.empty() ? "" : "&" + named);
  return std::string(kLotsAddress) + "/" + address_part(lot) + (named.empty() ? "" : "?" + named);
}

reports::QuestionForm lot_form(const std::string& lot, const std::string& part,
                               const std::vector<std::string>& parts) {
  reports::QuestionForm form{.action = kLotsAddress, .button = "Show"};
  form.fields.push_back({.name = "lot",
                         .caption = "Lot",
                         .value = lot,
                         .choices = {},
                         .example = "as it was entered"});
  form.fields.push_back(
      {.name = "part", .caption = "Part", .value = part, .choices = {{"", "any part"}}});
  for (const std::string& known : parts)
    form.fields.back().choices.push_back({known, spelled(known)});
  return form;
}

reports::AnswerPage lot_page_of(const LotTold& told, reports::QuestionForm form) {
  reports::AnswerPage page{.here = "Units",
                           .heading = analysis::capitalised(name_of_lot(told).substr(4)),
                           .form = std::move(form),
                           .statements = words_of(told)};
  if (told.units.empty()) return page;
  if (told.passed.of + told.repaired_passed.of > 0) page.parts.push_back(judged_part(told));
  if (!told.reasons.empty())
    page.parts.push_back(named_part("Why the others did not pass",
                                    "The deciding reason of the first test with the lot.",
                                    told.reasons));
  if (!told.causes.empty())
    page.parts.push_back(named_part("Likely causes of the fails",
                                    "The likeliest of each failed first test with the lot.",
                                    told.causes));
  page.parts.push_back(units_part(told));
  return page;
}

}  // namespace endgate::daemon

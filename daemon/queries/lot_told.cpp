#include "daemon/queries/lot_told.h"

#include <algorithm>
#include <map>
#include <set>

#include "analysis/say_number.h"
#include "daemon/queries/entry_told.h"
#include "daemon/queries/population_words.h"

namespace endgate::daemon {
namespace {

void count_if(Share& share, bool yes) {
  ++share.of;
  share.count += yes ? 1 : 0;
}

class LotTelling {
 public:
  explicit LotTelling(LotTold& told) : told_(told) {}

  void add(const UnitWithLot& unit) {
    if (!seen_.insert(unit.serial).second) return;
    ++told_.count;
    count_if(told_.came_back, unit.came_back);
    const bool still_held = std::ranges::any_of(told_.units, [&](const UnitWithLot& each) {
      return each.still_held && each.serial == unit.serial;
    });
    told_.no_longer += still_held ? 0 : 1;
    if (still_held && !unit.standing.empty()) add_standing(unit.standing);
    if (!unit.first.verdict.empty()) add_first(unit.first, unit.repair > 0);
  }

  void tell() {
    tell_named(told_.reasons, reasons_, not_passed_);
    tell_named(told_.causes, causes_, failed_);
    told_.models.assign(models_.begin(), models_.end());
  }

 private:
  using Counts = std::map<std::string, std::int64_t>;

  void add_standing(const std::string& word) {
    count_if(told_.released, word == "release");
    count_if(told_.held, word == "hold");
    count_if(told_.rejected, word == "reject");
  }
  void add_first(const UnitWithLot::FirstTest& first, bool repaired) {
    not_passed_ += first.verdict != "pass" ? 1 : 0;
    failed_ += first.verdict == "fail" ? 1 : 0;
    if (repaired)
      count_if(told_.repaired_passed, first.verdict == "pass");
    else
      add_from_the_start(first);
    if (first.verdict != "pass" && !first.reason_code.empty())
      ++reasons_[reason_words(first.reason_code, first.reason_subject)];
    if (first.verdict == "fail")
      ++causes_[first.likely_cause.empty() ? "No cause stated"
                                           : analysis::capitalised(first.likely_cause)];
  }
  void add_from_the_start(const UnitWithLot::FirstTest& first) {
    models_.insert(first.model);
    count_if(told_.passed, first.verdict == "pass");
    count_if(told_.undecided, first.verdict == "undecided");
    count_if(told_.failed, first.verdict == "fail");
  }
  static void tell_named(std::vector<LotTold::Named>& named, const Counts& counts,
                         std::int64_t of) {
    for (const auto& [words, count] : counts) named.push_back({words, {count, of}});
    std::ranges::stable_sort(named, std::greater<>(),
                             [](const LotTold::Named& each) { return each.units.count; });
  }

  LotTold& told_;
  std::set<std::string> seen_{}, models_{};
  Counts reasons_{}, causes_{};
  std::int64_t not_passed_ = 0, failed_ = 0;
};

std::string counted_units(std::int64_t count) {
  return std::to_string(count) + (count == 1 ? " unit" : " units");
}

std::string models_words(const std::vector<std::string>& models) {
  std::string words = models.size() == 1 ? "model " : "models ";
  for (std::size_t i = 0; i < models.size(); ++i) words += (i == 0 ? "" : ", ") + models[i];
  return words;
}

// "8 units hold or held the lot A, 1 of them no longer"
std::string hold_words(const LotTold& told) {
  const char* one = told.no_longer > 0 ? " holds or held " : " holds ";
  const char* many = told.no_longer > 0 ? " hold or held " : " hold ";
  const std::string words =
      counted_units(told.count) + (told.count == 1 ? one : many) + name_of_lot(told);
  if (told.no_longer == 0) return words;
  return words + ", " + std::to_string(told.no_longer) + " of them no longer";
}

}  // namespace

LotTold lot_told(const schema::StoreReader& store, const std::string& lot,
                 const std::string& part) {
  LotTold told{.lot = lot, .part = part, .units = where_used(store, lot, part)};
  LotTelling telling(told);
  for (const UnitWithLot& unit : told.units) telling.add(unit);
  telling.tell();
  for (const std::string& model : told.models) {
    const Share passed = yield_of(store, {.model = model}).first_pass;
    told.others_passed.count += passed.count;
    told.others_passed.of += passed.of;
  }
  told.others_passed.count -= told.passed.count;
  told.others_passed.of -= told.passed.of;
  return told;
}

std::string name_of_lot(const LotTold& told) {
  return "the " + (told.part.empty() ? "" : spelled(told.part) + " ") + "lot " + told.lot;
}

std::vector<std::string> words_of(const LotTold& told) {
  if (told.units.empty()) return {"No unit is known to hold " + name_of_lot(told) + "."};
  std::vector<std::string> words;
  const std::string hold = hold_words(told);
  if (told.passed.of + told.repaired_passed.of == 0)
    return {hold + "; none was tested with it yet."};
  words.push_back(hold + ".");
  if (told.passed.of > 0)
    words.back() += " Passed at the first test with it: " + share_words(told.passed) + ".";
  if (told.others_passed.of > 0)
    words.push_back("Of all other units of " + models_words(told.models) +
                    " passed at the first test: " + share_words(told.others_passed) + ".");
  if (told.repaired_passed.of > 0)
    words.push_back("Built in at a repair; passed at the first test behind it: " +
                    share_words(told.repaired_passed) + ".");
  const std::string now =
      told.no_longer > 0 ? "Of those that hold it still, now released: " : "Now released: ";
  words.push_back(now + std::to_string(told.released.count) +
                  ", held: " + std::to_string(told.held.count) +
                  ", rejected: " + std::to_string(told.rejected.count) + ".");
  if (told.came_back.count > 0) words.push_back("Came back: " + share_words(told.came_back) + ".");
  return words;
}

}  // namespace endgate::daemon

#include "daemon/queries/cause_agreement.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <map>
#include <optional>

#include "daemon/mapping/context_bytes.h"
#include "daemon/queries/population_words.h"
#include "schema/every_entry.h"

namespace endgate::daemon {
namespace {

constexpr std::size_t kNone = SIZE_MAX;

// "Worn ring", "worn_ring" and " worn-ring" are one.
std::string folded(std::string text) {
  std::ranges::transform(text, text.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  std::erase_if(text, [](char c) { return c == ' ' || c == '_' || c == '-'; });
  return text;
}

// Which of the stated groups holds the cause.
std::size_t place_of(const schema::Record& record, const std::string& cause) {
  for (std::size_t i = 0; i < record.causes.size(); ++i)
    if (std::ranges::find(record.causes[i].causes, cause) != record.causes[i].causes.end())
      return i;
  return kNone;
}

const schema::Record* newest_before(const std::vector<schema::StoredRecord>& tests,
                                    schema::Position repair) {
  const schema::Record* found = nullptr;
  for (const schema::StoredRecord& test : tests)
    if (test.position < repair && !test.record.context_bytes.empty()) found = &test.record;
  return found;
}

// What was stated before an earlier repair, or before the unit passed, was about another fault.
const schema::Record* stated_between(const std::vector<schema::StoredRecord>& tests,
                                     schema::Position earlier_repair, schema::Position repair) {
  const schema::Record* found = nullptr;
  for (const schema::StoredRecord& test : tests) {
    if (test.position <= earlier_repair || test.position > repair) continue;
    if (!test.record.causes.empty())
      found = &test.record;
    else if (test.record.verdict == "pass")
      found = nullptr;
  }
  return found;
}

// Nothing: of a later version, or damaged; `verify` tells.
std::optional<std::vector<ListedCause>> list_read(const schema::Record& record) {
  std::vector<ListedCause> list;
  if (record.context_bytes.empty()) return list;
  try {
    for (const analysis::Cause& cause : context_from(record.context_bytes).causes.causes)
      list.push_back({cause.id, cause.name});
  } catch (const schema::StoreFault&) {
    return std::nullopt;
  }
  return list;
}

using Repaired = schema::Kept<schema::Repair>;

// Of the same unit; 0: none.  `repairs` in order of position.
std::vector<schema::Position> repairs_before(const std::vector<Repaired>& repairs) {
  std::map<std::string, schema::Position> last;
  std::vector<schema::Position> before;
  for (const Repaired& repair : repairs) {
    schema::Position& of_unit = last[repair.fact.serial];
    before.push_back(of_unit);
    of_unit = repair.position;
  }
  return before;
}

void count(Share& share, bool yes) {
  ++share.of;
  share.count += yes ? 1 : 0;
}

// Year and quarter, by UTC: where a quarter of a year begins matters to nobody by the hour.
std::pair<int, int> quarter_of(std::int64_t utc_ms) {
  const auto day = std::chrono::floor<std::chrono::days>(
      std::chrono::sys_time<std::chrono::milliseconds>(std::chrono::milliseconds(utc_ms)));
  const std::chrono::year_month_day date(day);
  return {static_cast<int>(date.year()),
          static_cast<int>((static_cast<unsigned>(date.month()) + 2) / 3)};
}

class Counting {
 public:
  explicit Counting(const std::string& model) { told_.model = model; }

  void leave_out(std::size_t older) { told_.older_left_out = static_cast<std::int64_t>(older); }

  void add(const Repaired& repair, schema::Position earlier_repair,
           const std::vector<schema::StoredRecord>& tests) {
    const schema::Record* test = newest_before(tests, repair.position);
    if (test == nullptr || (!told_.model.empty() && test->start.model != told_.model)) return;
    ++told_.repairs;
    const auto list = list_read(*test);
    if (!list) {
      ++told_.unreadable;
      return;
    }
    const ListedCause* found = listed_as(*list, repair.fact.finding);
    if (found == nullptr) {
      ++told_.in_words;
      return;
    }
    ++told_.found[found->id];
    const schema::Record* stated = stated_between(tests, earlier_repair, repair.position);
    if (stated == nullptr) {
      ++told_.not_stated;
      return;
    }
    add(*found, place_of(*stated, found->id), quarter_of(repair.fact.at.utc_ms));
  }

  CauseAgreement told() {
    for (auto& [id, row] : rows_) told_.rows.push_back(std::move(row));
    for (const auto& [when, quarter] : quarters_) told_.quarters.push_back(quarter);
    std::ranges::stable_sort(told_.rows, std::greater<>(),
                             [](const CauseAgreement::Row& row) { return row.first.of; });
    return std::move(told_);
  }

 private:
  void add(const ListedCause& found, std::size_t place, const std::pair<int, int>& when) {
    CauseAgreement::Row& row = rows_[found.id];
    CauseAgreement::Quarter& quarter = quarters_[when];
    row.found = found.name;
    quarter.year = when.first;
    quarter.quarter = when.second;
    for (Share* share : {&row.first, &quarter.first, &told_.first}) count(*share, place == 0);
    for (Share* share : {&row.among_two, &quarter.among_two, &told_.among_two})
      count(*share, place < 2);
  }

  CauseAgreement told_{};
  std::map<std::string, CauseAgreement::Row> rows_{};
  std::map<std::pair<int, int>, CauseAgreement::Quarter> quarters_{};
};

}  // namespace

std::vector<ListedCause> causes_listed(const schema::Record& record) {
  return list_read(record).value_or(std::vector<ListedCause>{});
}

const ListedCause* listed_as(const std::vector<ListedCause>& list, const std::string& finding) {
  const auto found = std::ranges::find_if(list, [&](const ListedCause& cause) {
    return folded(cause.id) == folded(finding) || folded(cause.name) == folded(finding);
  });
  return found == list.end() ? nullptr : &*found;
}

CauseAgreement cause_agreement_of(const schema::StoreReader& store, const std::string& model,
                                  std::size_t newest) {
  const std::vector<Repaired> repairs = schema::every_repair(store);
  const std::vector<schema::Position> before = repairs_before(repairs);
  const std::size_t first = repairs.size() - std::min(repairs.size(), newest);
  Counting counting(model);
  counting.leave_out(first);
  for (std::size_t i = first; i < repairs.size(); ++i)
    counting.add(repairs[i], before[i], store.records_of(repairs[i].fact.serial));
  return counting.told();
}

std::string name_of(const CauseAgreement::Quarter& quarter) {
  constexpr std::array kMonths{"January to March", "April to June", "July to September",
                               "October to December"};
  return std::to_string(quarter.year) + ", " +
         kMonths[static_cast<std::size_t>(quarter.quarter - 1)];
}

std::string agreement_words(const CauseAgreement& told) {
  std::string words = "Repairs: " + std::to_string(told.repairs) +
                      ". Finding not of the list of causes: " + std::to_string(told.in_words) +
                      ". No cause stated by a test before: " + std::to_string(told.not_stated) +
                      ".";
  if (told.unreadable > 0)
    words += " List of causes not readable: " + std::to_string(told.unreadable) + ".";
  if (told.older_left_out > 0)
    words +=
        " Older repairs of all models, not looked at: " + std::to_string(told.older_left_out) + ".";
  if (told.first.of == 0) return words;
  return words + " Likely cause and finding agree: " + share_words(told.first) +
         "; among the first two: " + share_words(told.among_two) + ".";
}

std::vector<std::string> words_of(const CauseAgreement& told) {
  std::vector<std::string> words{agreement_words(told)};
  for (const CauseAgreement::Row& row : told.rows)
    words.push_back("Found " + row.found + ": stated first " + std::to_string(row.first.count) +
                    ", among the first two " + std::to_string(row.among_two.count) + ", of " +
                    std::to_string(row.first.of) + ".");
  for (const CauseAgreement::Quarter& quarter : told.quarters)
    words.push_back("Repairs of " + name_of(quarter) + ": stated first " +
                    share_words(quarter.first) + ".");
  return words;
}

}  // namespace endgate::daemon

#include "daemon/queries/cause_agreement.h"

#include <algorithm>
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

const schema::Record* stated_before(const std::vector<schema::StoredRecord>& tests,
                                    schema::Position repair) {
  const schema::Record* found = nullptr;
  for (const schema::StoredRecord& test : tests)
    if (test.position < repair && !test.record.causes.empty()) found = &test.record;
  return found;
}

void count(Share& share, bool yes) {
  ++share.of;
  share.count += yes ? 1 : 0;
}

class Counting {
 public:
  explicit Counting(const std::string& model) { told_.model = model; }

  void add(const schema::Kept<schema::Repair>& repair,
           const std::vector<schema::StoredRecord>& tests) {
    const schema::Record* test = newest_before(tests, repair.position);
    if (test == nullptr || (!told_.model.empty() && test->start.model != told_.model)) return;
    ++told_.repairs;
    const std::vector<ListedCause> list = causes_listed(*test);
    const ListedCause* found = listed_as(list, repair.fact.finding);
    if (found == nullptr) {
      ++told_.in_words;
      return;
    }
    const schema::Record* stated = stated_before(tests, repair.position);
    if (stated == nullptr) {
      ++told_.not_stated;
      return;
    }
    add(*found, place_of(*stated, found->id));
  }

  CauseAgreement told() {
    for (auto& [id, row] : rows_) told_.rows.push_back(std::move(row));
    std::ranges::stable_sort(told_.rows, std::greater<>(),
                             [](const CauseAgreement::Row& row) { return row.first.of; });
    return std::move(told_);
  }

 private:
  void add(const ListedCause& found, std::size_t place) {
    CauseAgreement::Row& row = rows_[found.id];
    row.found = found.name;
    for (Share* share : {&row.first, &told_.first}) count(*share, place == 0);
    for (Share* share : {&row.among_two, &told_.among_two}) count(*share, place < 2);
  }

  CauseAgreement told_{};
  std::map<std::string, CauseAgreement::Row> rows_{};
};

}  // namespace

// A context of a later version, or a damaged one, has no list that can be read; `verify` tells.
std::vector<ListedCause> causes_listed(const schema::Record& record) {
  if (record.context_bytes.empty()) return {};
  std::vector<ListedCause> list;
  try {
    for (const analysis::Cause& cause : context_from(record.context_bytes).causes.causes)
      list.push_back({cause.id, cause.name});
  } catch (const schema::StoreFault&) {
    list.clear();
  }
  return list;
}

const ListedCause* listed_as(const std::vector<ListedCause>& list, const std::string& finding) {
  const auto found = std::ranges::find_if(list, [&](const ListedCause& cause) {
    return folded(cause.id) == folded(finding) || folded(cause.name) == folded(finding);
  });
  return found == list.end() ? nullptr : &*found;
}

CauseAgreement cause_agreement_of(const schema::StoreReader& store, const std::string& model) {
  Counting counting(model);
  for (const schema::Kept<schema::Repair>& repair : schema::every_repair(store))
    counting.add(repair, store.records_of(repair.fact.serial));
  return counting.told();
}

std::string agreement_words(const CauseAgreement& told) {
  const std::string words =
      "Repairs: " + std::to_string(told.repairs) +
      ". Finding not of the list of causes: " + std::to_string(told.in_words) +
      ". No cause stated by a test before: " + std::to_string(told.not_stated) + ".";
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
  return words;
}

}  // namespace endgate::daemon

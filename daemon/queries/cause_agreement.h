// How often is the likely cause of a test what people then found in the unit?
//
// Looked at is every repair whose finding is a cause of the list that its test was held against, by
// id or name, however it is written; the test is the newest before it that states causes, behind
// the unit's earlier repair and with no passed test in between.  Causes that a test could not tell
// apart stand as one statement.

#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "daemon/queries/yield_told.h"
#include "schema/store.h"

namespace endgate::daemon {

struct CauseAgreement {
  std::string model{};          // empty: of every model
  Share first{}, among_two{};   // of repairs that a statement came before
  std::int64_t repairs = 0;     // of units of the model
  std::int64_t in_words = 0;    // found something that is not of the list
  std::int64_t not_stated = 0;  // no test since the repair or pass before stated a cause
  struct Row {
    std::string found{};  // name of the cause
    Share first{}, among_two{};
  };
  std::vector<Row> rows{};  // most frequent first
  struct Quarter {
    int year = 0, quarter = 0;  // of the repair, 1 to 4, by UTC
    Share first{}, among_two{};
  };
  std::vector<Quarter> quarters{};  // in order; those without such a repair are left out
  std::map<std::string, std::int64_t> found{};  // by id of the cause, stated before or not
  std::int64_t unreadable = 0;      // of repairs: the list of their test is damaged, or a later one
  std::int64_t older_left_out = 0;  // repairs of all models that were not looked at
};
inline constexpr std::size_t kRepairsLookedAt = 500;  // each unit's records are decoded
[[nodiscard]] CauseAgreement cause_agreement_of(const schema::StoreReader& store,
                                                const std::string& model,
                                                std::size_t newest = kRepairsLookedAt);

// The list of causes that the newest test of a unit was held against.
struct ListedCause {
  std::string id{}, name{};
};
[[nodiscard]] std::vector<ListedCause> causes_listed(const schema::Record& record);
// The cause that is meant by a finding; nullptr: something else was found.
[[nodiscard]] const ListedCause* listed_as(const std::vector<ListedCause>& list,
                                           const std::string& finding);

[[nodiscard]] std::string name_of(const CauseAgreement::Quarter& quarter);  // "2026, April to June"
[[nodiscard]] std::string agreement_words(const CauseAgreement& told);      // of all findings
// The same, each finding, and each quarter of a year, one statement a line.
[[nodiscard]] std::vector<std::string> words_of(const CauseAgreement& told);

}  // namespace endgate::daemon

#include "daemon/line/identified_unit.h"

#include <algorithm>

#include "daemon/line/say_time.h"
#include "daemon/mapping/past_test.h"
#include "schema/store.h"

namespace endgate::daemon {
namespace {

std::string words_of(const schema::Record& last) {
  const std::string verb = last.verdict == "pass"   ? "Passed"
                           : last.verdict == "fail" ? "Failed"
                           : last.verdict == "void" ? "Not judged"
                                                    : "Undecided";
  return verb + " on " + say_utc_minute(last.start.at.utc_ms) + " UTC, bench " + last.start.bench +
         ", attempt " + std::to_string(last.start.attempt) + ".";
}

}  // namespace

EarlierTests read_history(const std::filesystem::path& store_folder, const std::string& serial) {
  const schema::StoreReader reader(store_folder);
  EarlierTests history;
  history.last_attempt = reader.last_attempt(serial);
  const std::vector<schema::StoredRecord> records = reader.records_of(serial);
  history.tests = past_tests(records, reader.repair_positions_of(serial));
  const std::vector<schema::Kept<schema::Disposition>> decisions = reader.dispositions_of(serial);
  if (const auto* newest = decision_that_counts(decisions, reader.last_repair_position(serial))) {
    history.decision = decision_of(newest->fact);
    const schema::Position decided = newest->position;
    history.decided_since = records.empty() || decided > records.back().position;
    history.valid_since_decision = std::ranges::any_of(records, [&](const auto& test) {
      return test.position > decided && test.record.verdict != "void" &&
             analysis::counts_for_standing(test.record.start.purpose);
    });
  }
  if (!records.empty()) {
    history.last_words = words_of(records.back().record);
    history.repaired_since = reader.last_repair_position(serial) > records.back().position;
  }
  return history;
}

std::optional<analysis::DecisionWord> decision_on_retest(const EarlierTests& history) {
  if (!history.decision) return std::nullopt;
  const analysis::DecisionWord word = history.decision->word;
  const bool stands = history.decided_since || word == analysis::DecisionWord::scrap;
  return stands ? std::optional(word) : std::nullopt;
}

const std::vector<RetestReason>& reasons_after_pass() {
  static const std::vector<RetestReason> reasons{{"Customer return", "returned"},
                                                 {"After repair", "retest", true},
                                                 {"Audit", "retest"},
                                                 {"Wrong label", "retest"},
                                                 {"Training", "trial"}};
  return reasons;
}

const std::vector<RetestReason>& reasons_after_fail() {
  static const std::vector<RetestReason> reasons{{"Repaired", "retest", true},
                                                 {"Ordered by line lead", "retest"}};
  return reasons;
}

}  // namespace endgate::daemon

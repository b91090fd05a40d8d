#include "daemon/line/identified_unit.h"

#include <algorithm>
#include <tuple>
#include <utility>

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

std::string bench_of_open_start(const schema::StoreReader& reader, const std::string& serial) {
  for (const schema::StoredStart& open : reader.starts_without_record())
    if (open.start.serial == serial) return open.start.bench;
  return "";
}

}  // namespace

EarlierTests read_history(const std::filesystem::path& store_folder, const std::string& serial) {
  const schema::StoreReader reader(store_folder);
  EarlierTests history;
  history.last_attempt = reader.last_attempt(serial);
  const std::vector<schema::StoredRecord> records = reader.records_of(serial);
  if (static_cast<std::int64_t>(records.size()) < history.last_attempt)
    history.under_test_on = bench_of_open_start(reader, serial);
  const BetweenTests between = between_tests(reader, serial);
  history.tests = past_tests(records, between);
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
    const schema::Position kept = records.back().position;
    const auto since = [kept](const std::vector<schema::Position>& facts) {
      return std::ranges::any_of(facts, [&](schema::Position fact) { return fact > kept; });
    };
    history.repaired_since = since(between.repairs);
    history.returned_since = since(between.returns);
  }
  return history;
}

analysis::Standing cannot_be_told() {
  return {analysis::StandingWord::hold,
          "An earlier record cannot be read by this version; test the unit again."};
}

bool say_the_same(const EarlierTests& a, const EarlierTests& b) {
  const auto read = [](const EarlierTests& history) {
    const auto repaired =
        std::ranges::count(history.tests, true, &analysis::PastTest::after_repair);
    return std::tuple(history.last_attempt, history.tests.size(), repaired, history.repaired_since,
                      history.returned_since,
                      history.decision ? std::optional(history.decision->word) : std::nullopt,
                      history.decided_since, history.valid_since_decision);
  };
  return read(a) == read(b);
}

analysis::Standing standing_with(const EarlierTests& history, analysis::PastTest newest,
                                 const analysis::LimitSet& limits) {
  const bool valid_now =
      newest.verdict != analysis::Verdict::void_ && analysis::counts_for_standing(newest.purpose);
  std::vector<analysis::PastTest> tests = history.tests;
  tests.push_back(std::move(newest));
  const analysis::Standing measured = analysis::standing_of(tests, limits);
  if (!history.decision) return measured;
  return analysis::with_decision(measured, *history.decision, true,
                                 history.valid_since_decision || valid_now);
}

analysis::Standing standing_when_broken_off(const std::filesystem::path& store_folder,
                                            const schema::TestStart& start) try {
  const auto tests = schema::StoreReader(store_folder).records_of(start.serial);
  const auto limits = newest_limits(tests);
  if (!limits) return cannot_be_told();
  const EarlierTests history = read_history(store_folder, start.serial);
  return standing_with(history,
                       {.attempt = static_cast<int>(start.attempt),
                        .verdict = analysis::Verdict::void_,
                        .purpose = start.purpose,
                        .after_repair = history.repaired_since,
                        .after_return = history.returned_since,
                        .metrics = {},
                        .deciding = "the service ended during this test"},
                       *limits);
} catch (const schema::StoreFault&) {  // the service must start with a damaged record too
  return cannot_be_told();
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

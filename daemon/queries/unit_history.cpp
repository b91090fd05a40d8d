#include "daemon/queries/unit_history.h"

#include <algorithm>
#include <iterator>

#include "analysis/standing.h"
#include "daemon/mapping/past_test.h"

namespace endgate::daemon {
namespace {

StandingNow said(const analysis::Standing& standing) {
  return {analysis::word_of(standing.word), standing.reason};
}

// A decision made before the newest test still says what it says of a scrap or a concession.
analysis::Standing with_older_decision(analysis::Standing measured,
                                       const schema::Kept<schema::Disposition>& decision,
                                       const std::vector<schema::StoredRecord>& tests) {
  const bool valid_since = std::ranges::any_of(tests, [&](const schema::StoredRecord& test) {
    return test.position > decision.position && test.record.verdict != "void" &&
           analysis::counts_for_standing(test.record.start.purpose);
  });
  return analysis::with_decision(std::move(measured), decision_of(decision.fact), true,
                                 valid_since);
}

// As the newest test would have been told, had what was withdrawn never been entered.
analysis::Standing worked_out_anew(const schema::StoreReader& store, const std::string& serial,
                                   const std::vector<schema::StoredRecord>& tests) {
  const schema::StoredRecord& last = tests.back();
  const auto limits = newest_limits(tests);
  if (!limits)
    return {analysis::StandingWord::hold,
            "An entry was withdrawn and the limits of the newest test cannot be read. Test the "
            "unit again."};
  const analysis::Standing measured =
      analysis::standing_of(past_tests(tests, between_tests(store, serial)), *limits);
  const auto decisions = store.dispositions_of(serial);
  const auto* decision = decision_that_counts(decisions, store.last_repair_position(serial));
  if (decision == nullptr || decision->position > last.position) return measured;
  return with_older_decision(measured, *decision, tests);
}

analysis::Standing as_kept(const schema::Record& last) {
  for (const auto word : {analysis::StandingWord::release, analysis::StandingWord::hold,
                          analysis::StandingWord::reject})
    if (last.standing == analysis::word_of(word)) return {word, last.standing_reason};
  return {analysis::StandingWord::hold, last.standing_reason};
}

// Of the newest test and all before it.
analysis::Standing tested_standing(const schema::StoreReader& store, const std::string& serial,
                                   const std::vector<schema::StoredRecord>& tests) {
  // A test is judged by what was known when it was started.
  const schema::Position judged_with = tests.back().record.start_position;
  for (const auto& gone : store.withdrawn_about("unit", serial))
    if (gone.position < judged_with && gone.withdrawal.position > judged_with)
      return worked_out_anew(store, serial, tests);
  return as_kept(tests.back().record);
}

// A return washes off no fail; a released or held unit waits for its test.
StandingNow returned_standing(const analysis::Standing& tested) {
  if (tested.word == analysis::StandingWord::reject) return said(tested);
  return {"hold", "Came back since its last test. Test it as a customer return."};
}

std::int64_t missing_attempt(const std::vector<schema::StoredRecord>& tests) {
  for (std::int64_t attempt = 1;; ++attempt)
    if (std::ranges::none_of(tests, [&](const schema::StoredRecord& test) {
          return test.record.start.attempt == attempt;
        }))
      return attempt;
}

std::optional<StandingNow> standing_after(const schema::StoreReader& store,
                                          const std::string& serial,
                                          const std::vector<schema::StoredRecord>& tests) {
  // Attempts are numbered without gaps; on two benches the later one may be kept first.
  const std::int64_t started = store.last_attempt(serial);
  if (started > std::ssize(tests))
    return StandingNow{"hold", "Attempt " + std::to_string(missing_attempt(tests)) +
                                   " was started and its result is not kept yet."};
  if (tests.empty()) return std::nullopt;
  const analysis::Standing standing = tested_standing(store, serial, tests);
  const schema::Position repaired = store.last_repair_position(serial);
  const auto decisions = store.dispositions_of(serial);
  const auto* decision = decision_that_counts(decisions, repaired);
  const auto returns = store.returns_of(serial);
  const schema::Position tested = tests.back().position;
  const schema::Position returned = returns.empty() ? 0 : returns.back().position;
  // A scrap counts from the moment it is decided, also while the unit is under test.
  const bool scrap = decision != nullptr && decision->fact.decision == "scrap";
  const schema::Position since = scrap ? tests.back().record.start_position : tested;
  if (decision != nullptr && decision->position > since &&
      (decision->position > returned || decision->fact.decision == "scrap"))
    return said(analysis::with_decision(standing, decision_of(decision->fact), false, false));
  if (returned > std::max(tested, repaired)) return returned_standing(standing);
  if (repaired > tested) return StandingNow{"hold", "Repaired since its last test. Test it again."};
  return said(standing);
}

}  // namespace

UnitHistory history_of(const schema::StoreReader& store, const std::string& serial) {
  UnitHistory history;
  history.serial = serial;
  history.tests = store.records_of(serial);
  history.repairs = store.repairs_of(serial);
  history.decisions = store.dispositions_of(serial);
  history.returns = store.returns_of(serial);
  history.lots = store.lots_of("unit", serial);
  const std::string batch = history.tests.empty() ? "" : history.tests.front().record.start.batch;
  history.withdrawn = store.withdrawn_about("unit", serial);
  if (!batch.empty()) {
    std::ranges::move(store.lots_of("batch", batch), std::back_inserter(history.lots));
    std::ranges::move(store.withdrawn_about("batch", batch), std::back_inserter(history.withdrawn));
  }
  history.imported = store.imported_of(serial);
  for (const schema::StoredRecord& test : history.tests)
    if (auto removed = store.trace_removal_of(test.position))
      history.samples_removed.push_back(std::move(*removed));
  history.standing = standing_after(store, serial, history.tests);
  return history;
}

std::optional<StandingNow> standing_now(const schema::StoreReader& store,
                                        const std::string& serial) {
  return standing_after(store, serial, store.records_of(serial));
}

}  // namespace endgate::daemon

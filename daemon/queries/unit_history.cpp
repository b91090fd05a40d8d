#include "daemon/queries/unit_history.h"

#include <algorithm>

#include "analysis/standing.h"
#include "daemon/mapping/past_test.h"

namespace endgate::daemon {
namespace {

// Of a decision made after the last test.
StandingNow decided_standing(const schema::Record& last, const schema::Disposition& decision) {
  analysis::Standing kept;
  for (const auto word : {analysis::StandingWord::release, analysis::StandingWord::hold,
                          analysis::StandingWord::reject})
    if (last.standing == analysis::word_of(word)) kept = {word, last.standing_reason};
  const analysis::Standing now =
      analysis::with_decision(std::move(kept), decision_of(decision), false, false);
  return {analysis::word_of(now.word), now.reason};
}

// A return washes off no fail; a released or held unit waits for its test.
StandingNow returned_standing(const schema::Record& last) {
  if (last.standing == "reject") return {last.standing, last.standing_reason};
  return {"hold", "Came back since its last test. Test it as a customer return."};
}

std::optional<StandingNow> standing_after(const schema::StoreReader& store,
                                          const std::string& serial,
                                          const std::vector<schema::StoredRecord>& tests) {
  const std::int64_t started = store.last_attempt(serial);
  const std::int64_t kept = tests.empty() ? 0 : tests.back().record.start.attempt;
  if (started > kept)
    return StandingNow{"hold", "Attempt " + std::to_string(started) +
                                   " was started and its result is not kept yet."};
  if (tests.empty()) return std::nullopt;
  const schema::Record& last = tests.back().record;
  const schema::Position repaired = store.last_repair_position(serial);
  const auto decisions = store.dispositions_of(serial);
  const auto* decision = decision_that_counts(decisions, repaired);
  const auto returns = store.returns_of(serial);
  const schema::Position tested = tests.back().position;
  const schema::Position returned = returns.empty() ? 0 : returns.back().position;
  if (decision != nullptr && decision->position > tested &&
      (decision->position > returned || decision->fact.decision == "scrap"))
    return decided_standing(last, decision->fact);
  if (returned > std::max(tested, repaired)) return returned_standing(last);
  if (repaired > tested) return StandingNow{"hold", "Repaired since its last test. Test it again."};
  return StandingNow{last.standing, last.standing_reason};
}

}  // namespace

UnitHistory history_of(const schema::StoreReader& store, const std::string& serial) {
  UnitHistory history;
  history.serial = serial;
  history.tests = store.records_of(serial);
  const std::vector<schema::Repair> repairs = store.repairs_of(serial);
  const std::vector<schema::Position> positions = store.repair_positions_of(serial);
  for (std::size_t i = 0; i < std::min(repairs.size(), positions.size()); ++i)
    history.repairs.push_back({positions[i], repairs[i]});
  history.decisions = store.dispositions_of(serial);
  history.returns = store.returns_of(serial);
  history.lots = store.lots_of("unit", serial);
  const std::string batch = history.tests.empty() ? "" : history.tests.front().record.start.batch;
  if (!batch.empty())
    for (schema::Kept<schema::Lots>& of_batch : store.lots_of("batch", batch))
      history.lots.push_back(std::move(of_batch));
  history.imported = store.imported_of(serial);
  history.standing = standing_after(store, serial, history.tests);
  return history;
}

std::optional<StandingNow> standing_now(const schema::StoreReader& store,
                                        const std::string& serial) {
  return standing_after(store, serial, store.records_of(serial));
}

}  // namespace endgate::daemon

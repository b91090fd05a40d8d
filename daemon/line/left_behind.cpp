#include "daemon/line/left_behind.h"

#include "analysis/reason_codes.h"
#include "schema/store.h"

namespace endgate::daemon {

std::optional<LeftBehind> left_behind_on(const std::filesystem::path& store_folder,
                                         const std::string& bench) {
  const auto newest = schema::StoreReader(store_folder).latest_records(1, bench);
  if (newest.empty() || newest.front().record.reasons.empty()) return std::nullopt;
  const schema::Record& record = newest.front().record;
  const schema::ReasonGiven& why = record.reasons.front();
  if (why.code != "broken_off_daemon_restarted") return std::nullopt;
  LeftBehind left{.serial = record.start.serial,
                  .model = record.start.model,
                  .batch = record.start.batch,
                  .purpose = record.start.purpose,
                  .retest_reason = record.start.reason,
                  .attempt = record.start.attempt};
  left.result.verdict = record.verdict;
  left.result.sentence = why.sentence;
  left.result.reasons = {{why.code, why.subject, why.sentence}};
  left.result.standing = record.standing;
  left.result.standing_reason = record.standing_reason;
  left.result.position = newest.front().position;
  left.result.kept_samples = record.trace_sha256.has_value();
  return left;
}

}  // namespace endgate::daemon

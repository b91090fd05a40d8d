#include "daemon/line/identified_unit.h"

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
  if (!records.empty()) {
    history.last_words = words_of(records.back().record);
    history.repaired_since = reader.last_repair_position(serial) > records.back().position;
  }
  return history;
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

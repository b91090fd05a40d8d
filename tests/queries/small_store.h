// A store with a handful of tests: what the queries are asked about.

#pragma once

#include <string>

#include "schema/store.h"
#include "tests/support/made_facts.h"
#include "tests/support/temporary_folder.h"

namespace endgate::test {

struct TestSaid {
  std::string serial;
  std::int64_t attempt = 1;
  std::string verdict = "pass";
  std::string standing = "release";
  double fad_400 = 9e-4;
  std::string purpose{};  // empty: production, then retest
};

class SmallStore {
 public:
  schema::Position keep(const TestSaid& said) {
    const schema::TestStart start = begin(said.serial, said.attempt, said.purpose);
    schema::Record record;
    record.start = start;
    record.start_position = start_position_;
    record.verdict = said.verdict;
    record.standing = said.standing;
    record.standing_reason = "because of attempt " + std::to_string(said.attempt);
    if (said.verdict == "fail") record.reasons = {{"below_lower", "fad_400", "flow is low"}};
    if (said.verdict != "void") record.metrics = {made_metric("fad_400", said.fad_400)};
    record.metrics.push_back({.id = "dead_head", .missing_reason = "curve is contradicted"});
    record.cycle_s = 71.4;
    return writer_.append(record, std::nullopt);
  }
  schema::TestStart begin(const std::string& serial, std::int64_t attempt,
                          const std::string& purpose = "") {
    schema::TestStart start = made_start(serial, attempt);
    if (!purpose.empty()) start.purpose = purpose;
    start_position_ = writer_.append(start);
    return start;
  }
  void repair(const std::string& serial) {
    writer_.append(schema::Repair{.serial = serial, .finding = "worn ring", .by = "Ada"});
  }
  template <class Fact>
  void enter(const Fact& fact) {
    writer_.append(fact);
  }
  [[nodiscard]] const std::filesystem::path& folder() const { return folder_.path(); }

 private:
  TemporaryFolder folder_;
  schema::StoreWriter writer_{folder_.path()};
  schema::Position start_position_ = 0;
};

}  // namespace endgate::test

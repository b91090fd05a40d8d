// Whose samples may go, by age, and whose stay whatever their age?
//
// Numbers, verdicts, reasons, curve and seal of every test stay for ever; this is about the raw
// samples, which are nearly all of the bytes.  Only tests of production and retests ever lose them:
// tests of reference units hold the past of a bench together, and those of returned units, of the
// lab and trials are few and cannot be made again.  Of a unit that may still come back under
// warranty the birth test stays too: a return is held against it, and a dispute is settled by
// samples.  When a unit was sold is not known, so `warranty_months` counts from its birth and has
// to hold the months it may lie on a shelf.

#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "schema/store.h"

namespace endgate::daemon {

struct RetentionRule {
  std::int64_t older_than_days = 0;
  std::int64_t warranty_months = 60;
};

struct Retention {
  std::vector<schema::Position> go{};  // records, oldest first
  // Of the tests with samples:
  std::size_t too_young = 0, of_other_purpose = 0, under_warranty = 0;
  std::size_t in_newest_file = 0;  // old enough, but tests are still written to their file
  std::size_t gone_before = 0;
};
// Reads every record; `progress` hears how many so far.
[[nodiscard]] Retention retention_of(const schema::StoreReader& store, const RetentionRule& rule,
                                     std::int64_t now_utc_ms,
                                     const std::function<void(std::int64_t)>& progress = {});

// "samples of production tests and retests older than 730 days, but for birth tests within 60
// months: disk is short"
[[nodiscard]] std::string policy_words(const RetentionRule& rule, const std::string& why);

// "Its samples were removed on 2028-01-03 by A. Name (policy ...). The numbers and the seal stay."
[[nodiscard]] std::string removed_words(const schema::TraceRemoved& removed);

}  // namespace endgate::daemon

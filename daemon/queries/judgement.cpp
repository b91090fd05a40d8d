#include "daemon/queries/judgement.h"

#include <algorithm>
#include <array>
#include <span>
#include <string_view>

#include "daemon/mapping/judge_again.h"
#include "schema/fact_fields.h"
#include "schema/sha256.h"

namespace endgate::daemon {
namespace {

using schema::StoreFault;

constexpr std::size_t kDigestBytes = 8;

// What the evaluation was given, and what people and the store say of a test.
constexpr std::array<std::string_view, 13> kNotEvaluated{
    "start_position", "start",         "standing",     "standing_reason", "cycle_s",
    "context_ids",    "context_bytes", "trace_sha256", "trace_file",      "finished",
    "software",       "simulated",     "break_off"};

std::string digest_of(const schema::Bytes& bytes) {
  const schema::Hash hash = schema::Sha256().bytes(bytes).done();
  return schema::hex_of(std::span(hash).first(kDigestBytes));
}

JudgedTest facts_of(const schema::StoredRecord& stored) {
  const schema::TestStart& start = stored.record.start;
  return {.position = stored.position,
          .serial = start.serial,
          .model = start.model,
          .bench = start.bench,
          .attempt = start.attempt,
          .kept = judgement_in(stored.record)};
}

NotJudged without_samples(const schema::StoreReader& store, const schema::StoredRecord& stored) {
  return store.trace_removal_of(stored.position) ? NotJudged::samples_gone : NotJudged::unreadable;
}

// A fault of one test; of the store as a whole it goes on.
bool is_of_one_test(const StoreFault& fault) {
  return fault.kind() == StoreFault::Kind::damaged ||
         fault.kind() == StoreFault::Kind::wrong_version;
}

void judge(const schema::StoreReader& store, const schema::StoredRecord& stored,
           const analysis::LimitSet* draft, JudgedTest& test) {
  const std::optional<schema::Trace> trace = store.trace_of(stored);
  if (trace) {
    test.now = judgement_in(judge_again(stored.record, *trace, draft).record);
    return;
  }
  test.not_judged = without_samples(store, stored);
  if (test.not_judged == NotJudged::unreadable)
    test.trouble = "its samples are not in " + stored.record.trace_file +
                   ", and no removal is stated; run `endgate verify --traces`";
}

}  // namespace

Judgement judgement_in(const schema::Record& record) {
  Judgement judgement{.verdict = record.verdict,
                      .reason = record.reasons.empty() ? "" : record.reasons.front().sentence,
                      .metrics = record.metrics};
  for (schema::MetricValue& metric : judgement.metrics) metric.parts.clear();
  const std::size_t written = schema::fields_written(record);
  std::size_t field = 0;
  schema::for_each_field<schema::Record>([&](const char* name, auto member) {
    // A late part that says nothing is no part: earlier versions do not have it.
    if (field++ >= written) return;
    if (std::ranges::find(kNotEvaluated, name) == kNotEvaluated.end())
      judgement.parts.emplace_back(name, digest_of(schema::bytes_of(record.*member)));
  });
  return judgement;
}

JudgedTest rejudged(const schema::StoreReader& store, schema::Position position,
                    const analysis::LimitSet* draft) {
  const std::optional<schema::StoredRecord> stored = store.record_at(position);
  if (!stored)
    throw StoreFault(StoreFault::Kind::refused,
                     "no test is kept at position " + std::to_string(position));
  JudgedTest test = facts_of(*stored);
  const schema::Record& record = stored->record;
  if (!record.trace_sha256 || record.context_bytes.empty()) {
    test.not_judged = NotJudged::never_judged;
  } else if (draft != nullptr && record.start.purpose == "trial") {
    test.not_judged = NotJudged::no_such_limits;
  } else {
    try {
      judge(store, *stored, draft, test);
    } catch (const StoreFault& fault) {
      if (!is_of_one_test(fault)) throw;
      test.not_judged = NotJudged::unreadable;
      test.trouble = fault.what();
    }
  }
  return test;
}

}  // namespace endgate::daemon

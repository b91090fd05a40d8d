// How was a kept test judged, and how would this program judge it?
//
// Of a judgement stays what two builds are compared by: verdict, deciding reason, every number with
// its u (SI), and of each sealed part of the evaluation a digest, so that a difference of a single
// bit anywhere shows.

#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "analysis/context.h"
#include "schema/store.h"

namespace endgate::daemon {

struct Judgement {
  std::string verdict{};                       // pass, fail, undecided, void
  std::string reason{};                        // the deciding one, a sentence; empty: none
  std::vector<schema::MetricValue> metrics{};  // without their parts
  // Name of a part of the record ("metrics", "curve" ...), first 16 hex digits of the SHA-256 of
  // its canonical bytes.  Parts that no evaluation makes (serial, trace, context) are not among
  // them.
  std::vector<std::pair<std::string, std::string>> parts{};
};
[[nodiscard]] Judgement judgement_in(const schema::Record& record);

// Why a test cannot be judged again.
enum class NotJudged {
  no,              // it can
  samples_gone,    // removed by a stated policy
  never_judged,    // broken off without samples or by the end of the service
  no_such_limits,  // a lab trial: its limits are of its own
  unreadable       // damaged, missing without a statement, or of another version
};

struct JudgedTest {
  schema::Position position = 0;
  std::string serial{}, model{}, bench{};
  std::int64_t attempt = 0;
  Judgement kept{};
  std::optional<Judgement> now{};  // present when `not_judged` is no
  NotJudged not_judged = NotJudged::no;
  std::string trouble{};  // of unreadable: a sentence
};

// The record at `position`, from its stored trace and its stored context alone.  `draft`: limits to
// hold it against instead of those of then; nullptr: those of then.  Only reads.  StoreFault when
// the store as a whole fails or holds no record there.
[[nodiscard]] JudgedTest rejudged(const schema::StoreReader& store, schema::Position position,
                                  const analysis::LimitSet* draft = nullptr);

}  // namespace endgate::daemon

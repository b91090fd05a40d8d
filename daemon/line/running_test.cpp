#include "daemon/line/running_test.h"

#include <algorithm>
#include <boost/asio/post.hpp>
#include <chrono>
#include <optional>
#include <utility>
#include <vector>

#include "analysis/evaluate.h"
#include "daemon/line/line_parts.h"
#include "daemon/line/station_unit.h"
#include "daemon/line/version.h"
#include "daemon/line/wall_clock.h"
#include "daemon/mapping/record_of.h"
#include "daemon/mapping/trace_of.h"
#include "daemon/mapping/trace_pieces.h"

namespace endgate::daemon {
namespace {

using schema::StoreFault;

// Bench time from the start command to the last sample plus steady time from there to now.
double cycle_seconds(const FinishedTest& test) {
  const std::chrono::duration<double> after =
      std::chrono::steady_clock::now() - test.last_sample_at;
  return 1e-6 * static_cast<double>(test.last_sample_us - test.start_command_us) + after.count();
}

std::string lost_piece_text(const std::string& why) {
  return "the service, because a piece of the trace was not kept (" + why + ")";
}

// A run that was broken off anyway keeps its own reason.
void break_off_for_lost_piece(analysis::RawTrace& trace, const std::string& why) {
  if (trace.break_off != analysis::BreakOff::none) return;
  trace.break_off = analysis::BreakOff::ended_by_service;
  trace.break_off_detail = "stopped by " + lost_piece_text(why);
}

analysis::PastTest as_past_test(const UnitOnBench& unit, const analysis::Evaluation& evaluation) {
  const analysis::Grade& grade = evaluation.grade;
  const bool nothing_decides = grade.verdict == analysis::Verdict::pass || grade.reasons.empty();
  return {.attempt = static_cast<int>(unit.start.attempt),
          .verdict = grade.verdict,
          .purpose = unit.purpose,
          .after_repair = unit.history.repaired_since,
          .after_return = unit.history.returned_since,
          .metrics = evaluation.metrics,
          .deciding = nothing_decides ? "" : grade.reasons.front().sentence,
          .drawn = evaluation.drawn};
}

bool has_samples(const analysis::RawTrace& trace) {
  return std::ranges::any_of(trace.channels,
                             [](const analysis::RawChannel& each) { return !each.raw.empty(); });
}

}  // namespace

// A finished test on its way to the disk.
struct RunningTest::Judged {
  FinishedTest test;  // its last piece until that is durable
  double cycle_s = 0;
  analysis::Evaluation evaluation;
  analysis::Standing standing;
  schema::Record record;
};

struct RunningTest::Pieces {
  std::vector<TracePiece> kept;
  std::string lost;  // why one was not kept; empty: none was lost
};

struct RunningTest::Kept {
  schema::Position position = 0;
  std::optional<StoreFault> fault;
};

RunningTest::RunningTest(const StationTools& tools, std::shared_ptr<const UnitOnBench> unit,
                         bool simulated, Events events)
    : tools_(tools),
      unit_(std::move(unit)),
      simulated_(simulated),
      events_(std::move(events)),
      pieces_(std::make_shared<Pieces>()) {}

RunningTest::~RunningTest() = default;

// In the order they come, each durable before the record.
void RunningTest::keep_piece(analysis::RawTrace given) {
  const auto self = shared_from_this();
  const auto piece = std::make_shared<const analysis::RawTrace>(std::move(given));
  const auto job = [self, piece](schema::StoreWriter& store) {
    try {
      self->write_piece(store, *piece);
    } catch (const StoreFault& caught) {
      self->pieces_->lost = caught.what();
      boost::asio::post(self->tools_.io, [self, why = self->pieces_->lost] {
        self->events_.piece_lost(lost_piece_text(why));
      });
    }
    self->tidy(store);
  };
  if (tools_.records.post(job)) return;
  piece_refused_ = "more waits to be kept than the store can take";
  events_.piece_lost(lost_piece_text(piece_refused_));
}

void RunningTest::write_piece(schema::StoreWriter& store, const analysis::RawTrace& piece) const {
  pieces_->kept.push_back(
      piece_of(store.append_piece(unit_->start_position, stored_trace_of(piece))));
}

void RunningTest::finish(FinishedTest test) {
  if (!piece_refused_.empty()) break_off_for_lost_piece(test.trace, piece_refused_);
  const auto judged = std::make_shared<Judged>();
  judged->test = std::move(test);
  tools_.on_pool([self = shared_from_this(), judged] {
    judged->cycle_s = cycle_seconds(judged->test);
    self->judge(*judged);
    self->keep(judged);
  });
}

// Reads only what was pinned at the scan.
void RunningTest::judge(Judged& judged) const {
  const analysis::RawTrace& trace = judged.test.trace;
  judged.evaluation = analysis::evaluate(trace, unit_->context);
  judged.standing = standing_with(unit_->history, as_past_test(*unit_, judged.evaluation),
                                  unit_->production_limits);
  judged.record = record_of({.start = unit_->start,
                             .start_position = unit_->start_position,
                             .finished = wall_clock_now(),
                             .cycle_s = judged.cycle_s,
                             .software = software_version(),
                             .simulated = simulated_},
                            trace, unit_->context, judged.evaluation, judged.standing);
}

void RunningTest::keep(const std::shared_ptr<Judged>& judged) {
  const auto self = shared_from_this();
  const auto job = [self, judged](schema::StoreWriter& store) {
    const Kept kept = self->write(store, *judged);
    boost::asio::post(self->tools_.io, [self, judged, kept] { self->answered(judged, kept); });
    self->tidy(store);
    if (!kept.fault) self->events_.after_keeping(store, kept.position);
  };
  if (tools_.records.post(job, RecordThread::Carries::result)) return;
  const StoreFault behind(StoreFault::Kind::busy,
                          "more results wait to be kept than the store can take");
  boost::asio::post(tools_.io, [self, judged, behind] { self->answered(judged, {0, behind}); });
}

// On the record thread, behind every piece: only here is known whether one was lost.
RunningTest::Kept RunningTest::write(schema::StoreWriter& store, Judged& judged) const {
  FinishedTest& test = judged.test;
  try {
    if (test.last_piece) write_piece(store, *test.last_piece);
    test.last_piece.reset();
    if (!pieces_->lost.empty() && test.trace.break_off == analysis::BreakOff::none) {
      break_off_for_lost_piece(test.trace, pieces_->lost);
      judge(judged);
    }
    const schema::Trace trace = unit_->plan.long_run
                                    ? stored_long_trace_of(test.trace, pieces_->kept)
                                    : stored_trace_of(test.trace);
    return {store.append(judged.record, trace), std::nullopt};
  } catch (const StoreFault& caught) {
    return {0, caught};
  }
}

void RunningTest::answered(const std::shared_ptr<Judged>& judged, const Kept& kept) {
  if (kept.fault) {
    waiting_ = judged;
    return events_.not_kept(*kept.fault);
  }
  events_.kept(result_of(judged->evaluation, judged->standing, kept.position, judged->cycle_s,
                         has_samples(judged->test.trace)));
}

void RunningTest::keep_again() {
  if (auto judged = std::exchange(waiting_, nullptr)) keep(judged);
}

// After the answer; a failing checkpoint loses nothing but must be seen.
void RunningTest::tidy(schema::StoreWriter& store) {
  try {
    store.checkpoint_when_due();
  } catch (const StoreFault& caught) {
    boost::asio::post(tools_.io, [self = shared_from_this(), fault = std::string(caught.what())] {
      self->events_.untidy(fault);
    });
  }
}

}  // namespace endgate::daemon

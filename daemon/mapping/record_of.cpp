#include "daemon/mapping/record_of.h"

#include "analysis/reason_codes.h"
#include "daemon/mapping/context_bytes.h"
#include "daemon/mapping/evaluation_parts.h"

namespace endgate::daemon {
namespace {

constexpr std::string_view kBrokenOff = "broken_off_";

std::string break_off_of(const analysis::RawTrace& trace) {
  if (trace.break_off != analysis::BreakOff::none)
    return std::string(analysis::code_of(trace.break_off).substr(kBrokenOff.size()));
  return trace.trip ? "tripped" : "";
}

void add_grade(schema::Record& record, const analysis::Grade& grade) {
  record.verdict = analysis::word_of(grade.verdict);
  record.would_have_been = grade.would_have_been;
  record.class_reached = grade.label;
  for (const analysis::Reason& reason : grade.reasons)
    record.reasons.push_back(
        {.code = reason.code, .subject = reason.subject, .sentence = reason.sentence});
  for (const analysis::LimitOutcome& outcome : grade.limits)
    record.limits.push_back(limit_as_was(outcome));
}

}  // namespace

schema::Record record_of(const TestFacts& facts, const analysis::RawTrace& trace,
                         const analysis::Context& context, const analysis::Evaluation& evaluation,
                         const analysis::Standing& standing) {
  schema::Record record;
  record.start_position = facts.start_position;
  record.start = facts.start;
  record.standing = analysis::word_of(standing.word);
  record.standing_reason = standing.reason;
  record.cycle_s = facts.cycle_s;
  record.break_off = break_off_of(trace);
  add_grade(record, evaluation.grade);
  for (const analysis::Metric& metric : evaluation.metrics)
    record.metrics.push_back(metric_value(metric));
  for (const analysis::OperatingPoint& point : evaluation.points)
    record.points.push_back(point_as_reduced(point));
  if (evaluation.curve) record.curve = curve_as_fitted(*evaluation.curve);
  record.curve_refusal = evaluation.curve_refusal;
  for (const analysis::DrawnPoint& point : evaluation.drawn)
    record.drawn.push_back(drawn_point(point));
  for (const analysis::ChannelHealth& health : evaluation.health)
    record.health.push_back(health_as_found(health));
  record.likely_cause = likely_cause_words(evaluation.causes);
  for (const analysis::LikelyCause& cause : evaluation.causes)
    record.causes.push_back(cause_stated(cause));
  record.context_ids = context_ids(context);
  record.context_bytes = context_bytes(context);
  record.finished = facts.finished;
  record.software = facts.software;
  record.simulated = facts.simulated;
  return record;
}

schema::Record broken_off_record(const schema::TestStart& start, schema::Position start_position,
                                 const schema::WallClock& found, const std::string& software) {
  schema::Record record;
  record.start_position = start_position;
  record.start = start;
  record.verdict = analysis::word_of(analysis::Verdict::void_);
  record.standing = analysis::word_of(analysis::StandingWord::hold);
  record.standing_reason = "The last test was broken off; test the unit again.";
  record.reasons.push_back(
      {.code = std::string(analysis::code_of(analysis::BreakOff::daemon_restarted)),
       .subject = "",
       .sentence = "The service ended during this test; nothing of it was measured to the end."});
  record.break_off = "daemon_restarted";
  record.curve_refusal = "the test was broken off";
  record.finished = found;
  record.software = software;
  return record;
}

}  // namespace endgate::daemon

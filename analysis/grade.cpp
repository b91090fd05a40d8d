#include "analysis/grade.h"

#include <algorithm>

#include "analysis/grade_limit.h"
#include "analysis/grade_rests_on.h"
#include "analysis/grade_sentence.h"
#include "analysis/grade_words.h"
#include "analysis/reason_codes.h"
#include "analysis/say_number.h"

namespace endgate::analysis {
namespace {

// A reason and the verdict it speaks for.
struct Ground {
  Verdict verdict;
  Reason reason;
};

Ground ground(Verdict verdict, std::string_view code, std::string subject, std::string sentence) {
  return {verdict, {std::string(code), std::move(subject), std::move(sentence)}};
}

const ChannelHealth* health_of(std::span<const ChannelHealth> health, const std::string& channel) {
  for (const ChannelHealth& entry : health)
    if (entry.channel_id == channel) return &entry;
  return nullptr;
}

bool sick(const ChannelHealth* health, bool unit_stands_still) {
  if (health == nullptr || health->state == HealthState::good) return false;
  return !(unit_stands_still && health->state == HealthState::stuck);
}

// The sequence saw healthy channels and a second witness, and the whole trace does not disagree.
bool trip_fails_the_unit(const RawTrace& trace, std::span<const ChannelHealth> health) {
  if (!trace.trip || trace.trip->accuses != TripAccuses::unit || !trace.trip->confirmed)
    return false;
  return !sick(health_of(health, trace.trip->channel_id), true) &&
         !sick(health_of(health, trace.trip->confirmed_by), true);
}

Ground ground_of_trip(const BenchFacts& bench, const Trip& trip, bool fails_unit) {
  const std::string sentence = sentence_of(bench, trip, fails_unit);
  if (fails_unit) return ground(Verdict::fail, reason::trip_unit, trip.channel_id, sentence);
  const bool accuses_bench = trip.accuses == TripAccuses::bench;
  return ground(Verdict::void_, accuses_bench ? reason::trip_bench : reason::trip_unconfirmed,
                trip.channel_id, sentence);
}

bool is_graded(const Limit& limit) { return limit.severity == Severity::reject; }

RoleSet graded_roles(const LimitSet& limits) {
  RoleSet set = 0;
  for (const Limit& limit : limits.limits)
    if (is_graded(limit)) set |= rests_on(limit.metric).roles;
  return set;
}

RoleSet sick_roles(const BenchFacts& bench, std::span<const ChannelHealth> health,
                   bool unit_stands_still) {
  RoleSet set = 0;
  for (const ChannelFacts& channel : bench.channels)
    if (sick(health_of(health, channel.id), unit_stands_still)) set |= roles({channel.role});
  return set;
}

// One ground per sick channel that a graded metric rests on.
void add_sick_channels(const Context& context, std::span<const ChannelHealth> health,
                       bool unit_stands_still, std::vector<Ground>& grounds) {
  const RoleSet graded = graded_roles(context.limits);
  for (const ChannelFacts& channel : context.bench.channels) {
    const ChannelHealth* entry = health_of(health, channel.id);
    if (contains(graded, channel.role) && sick(entry, unit_stands_still))
      grounds.push_back(ground(Verdict::void_, code_of(entry->state), channel.id,
                               sentence_of(context.bench, *entry)));
  }
}

std::vector<HeldLimit> hold_all(const LimitSet& limits, const Measurement& measured) {
  std::vector<HeldLimit> held;
  for (const Limit& limit : limits.limits)
    held.push_back(hold(limit, measured.metrics, measured.drawn));
  return held;
}

// Reject limits, the one furthest beyond or nearest to its bound first (G-7).
std::vector<HeldLimit> graded_by_nearness(const std::vector<HeldLimit>& held) {
  std::vector<HeldLimit> graded;
  std::copy_if(held.begin(), held.end(), std::back_inserter(graded),
               [](const HeldLimit& limit) { return !limit.outcome.warn; });
  std::stable_sort(graded.begin(), graded.end(), [](const HeldLimit& left, const HeldLimit& right) {
    return left.margin_in_u < right.margin_in_u;
  });
  return graded;
}

void add_limits(const std::vector<HeldLimit>& graded, std::vector<Ground>& grounds) {
  for (const HeldLimit& held : graded)
    if (held.outcome.verdict != Verdict::pass)
      grounds.push_back(
          ground(held.outcome.verdict, held.code, held.outcome.metric, held.outcome.sentence));
  if (graded.empty())
    grounds.push_back(ground(Verdict::undecided, reason::no_limits, "",
                             "The limit set has no limit that could reject a unit."));
}

bool grades_on_curve(const LimitSet& limits) {
  return std::any_of(limits.limits.begin(), limits.limits.end(), [](const Limit& limit) {
    return is_graded(limit) && rests_on(limit.metric).curve;
  });
}

// One test in a hundred of honest units scatters so much: it stands beside the verdict.
void add_doubt(const LimitSet& limits, const std::optional<Curve>& curve,
               std::vector<Ground>& grounds) {
  if (curve && curve->contradicted && !curve->refuted && grades_on_curve(limits))
    grounds.push_back(ground(Verdict::pass, reason::curve_doubtful, "",
                             "The operating points scatter about their curve more than usual."));
}

void add_contradiction(const LimitSet& limits, const std::optional<Curve>& curve,
                       std::vector<Ground>& grounds) {
  if (curve && curve->refuted && grades_on_curve(limits))
    grounds.push_back(ground(Verdict::undecided, reason::curve_contradicted, "",
                             "The operating points do not lie on one curve."));
}

// The first class of which every limit passes, on healthy channels and a curve that is none in
// doubt (G-11).
std::string class_reached(const Context& context, const Measurement& measured) {
  const RoleSet sick = sick_roles(context.bench, measured.health, false);
  const bool doubtful = measured.curve && measured.curve->contradicted;
  const auto is_held = [&](const Limit& limit) {
    const RestsOn rests = rests_on(limit.metric);
    return (rests.roles & sick) == 0 && !(rests.curve && doubtful) &&
           hold(limit, measured.metrics, measured.drawn).outcome.verdict == Verdict::pass;
  };
  for (const LimitClass& one : context.limits.classes)
    if (std::ranges::all_of(one.limits, is_held)) return one.name;
  return "";
}

std::string sentence_of_pass(const std::vector<HeldLimit>& graded, const std::string& label) {
  const std::string count = std::to_string(graded.size());
  const std::string head =
      graded.size() == 1 ? "The only limit is held" : "All " + count + " limits are held";
  return head + "; closest: " + words_of_metric(graded.front().outcome.metric).name +
         (label.empty() ? "." : "; class " + label + ".");
}

// Void outranks fail, fail undecided, undecided pass.
int rank_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::void_:
      return 0;
    case Verdict::fail:
      return 1;
    case Verdict::undecided:
      return 2;
    case Verdict::pass:
      return 3;
  }
  return 0;
}

// A broken-off test misses most metrics: saying each would hide why (G-7).
bool belongs_to(Verdict verdict, const Ground& each) {
  if (verdict == Verdict::void_) return each.verdict == Verdict::void_;
  return verdict != Verdict::fail || each.reason.code != reason::metric_missing;
}

void conclude(std::vector<Ground> grounds, Grade& grade) {
  std::stable_sort(grounds.begin(), grounds.end(), [](const Ground& left, const Ground& right) {
    return rank_of(left.verdict) < rank_of(right.verdict);
  });
  grade.verdict = grounds.front().verdict;
  for (Ground& each : grounds)
    if (belongs_to(grade.verdict, each)) grade.reasons.push_back(std::move(each.reason));
}

// G-8: only what rests on healthy channels may accuse.
std::string would_have_been(const Context& context, const RawTrace& trace, bool trip_fails,
                            const std::vector<HeldLimit>& graded, RoleSet sick) {
  std::string names;
  const auto add = [&](const std::string& name) { names += (names.empty() ? "" : ", ") + name; };
  if (trip_fails) add(words_of_channel(context.bench, trace.trip->channel_id).name);
  for (const HeldLimit& held : graded)
    if (held.outcome.verdict == Verdict::fail && (rests_on(held.outcome.metric).roles & sick) == 0)
      add(words_of_metric(held.outcome.metric).name);
  return names.empty() ? "" : "would have failed: " + names;
}

}  // namespace

LimitOutcome hold_against(const Metric& metric, const Limit& limit) {
  return hold(metric, limit).outcome;
}

Grade grade(const Context& context, const RawTrace& trace, const Measurement& measured) {
  const auto& [health, curve, metrics, drawn] = measured;
  const bool trip_fails = trip_fails_the_unit(trace, health);
  const std::vector<HeldLimit> held = hold_all(context.limits, measured);
  const std::vector<HeldLimit> graded = graded_by_nearness(held);
  std::vector<Ground> grounds;
  if (trace.break_off != BreakOff::none)
    grounds.push_back(
        ground(Verdict::void_, code_of(trace.break_off), "", sentence_of_break_off(trace)));
  if (trace.trip) grounds.push_back(ground_of_trip(context.bench, *trace.trip, trip_fails));
  add_sick_channels(context, health, trip_fails, grounds);
  add_limits(graded, grounds);
  add_contradiction(context.limits, curve, grounds);
  std::string label;
  if (grounds.empty()) {
    label = class_reached(context, measured);
    grounds.push_back(ground(Verdict::pass, reason::within_limits, graded.front().outcome.metric,
                             sentence_of_pass(graded, label)));
  }
  add_doubt(context.limits, curve, grounds);
  Grade result;
  result.label = std::move(label);
  conclude(std::move(grounds), result);
  for (const HeldLimit& limit : held) result.limits.push_back(limit.outcome);
  if (result.verdict == Verdict::void_)
    result.would_have_been = would_have_been(context, trace, trip_fails, graded,
                                             sick_roles(context.bench, health, trip_fails));
  return result;
}

}  // namespace endgate::analysis

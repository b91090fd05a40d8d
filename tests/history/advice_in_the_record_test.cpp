// Why did a step end, and does the record bear it out?
//
// Seeded units, a third of them with a fault, on benches with errors of their own.  What a look called
// decided must be decided in the evaluation of the whole trace, and looks taken again from the kept
// samples alone must end the same steps at the same moment for the same reason.

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

#include "analysis/advise_leak.h"
#include "analysis/conclusion.h"
#include "daemon/bench/advised.h"
#include "daemon/bench/step_watch.h"
#include "fixtures/history/campaign.h"
#include "tests/history/loaded_scenario.h"

namespace endgate::history {
namespace {

using analysis::StepMark;

const std::vector<TestedUnit>& forty_units() {
  static const std::vector<TestedUnit> units = [] {
    CampaignOptions options;
    options.units = 40;
    options.seed = 50517;
    options.fault_rate = 0.35;
    options.fresh_bench = true;
    return run_campaign(scenario(), options);
  }();
  return units;
}

bool ended_as(const StepMark& mark, analysis::AdviceKind kind) {
  return mark.reason.starts_with(analysis::word_of(kind));
}

// Metrics that a look at this step weighs against their limits: at its pressure and between it and
// the hold before.
std::set<std::string> weighed_in(const StepMark& mark, const std::vector<StepMark>& steps) {
  if (mark.kind == analysis::StepKind::back_leak) return {"back_leak"};
  if (mark.kind == analysis::StepKind::seal_leak) return {"seal_leak"};
  double before_pa = -1000;
  for (const StepMark& other : steps)
    if (other.kind == analysis::StepKind::hold && other.start_us < mark.start_us)
      before_pa = other.target_gauge_pa;
  std::set<std::string> ids;
  for (const analysis::MetricRecipe& metric : analysis::kMetrics)
    if (mark.kind == analysis::StepKind::hold && metric.kind != analysis::MetricKind::back_leak &&
        metric.kind != analysis::MetricKind::seal_leak &&
        metric.kind != analysis::MetricKind::dead_head && metric.gauge_pa > before_pa + 500 &&
        metric.gauge_pa < mark.target_gauge_pa + 500)
      ids.emplace(metric.id);
  return ids;
}

bool is_at_its_own_pressure(const std::string& metric, const StepMark& mark) {
  const auto recipe = std::ranges::find(analysis::kMetrics, metric, &analysis::MetricRecipe::id);
  return mark.kind != analysis::StepKind::hold ||
         std::abs(recipe->gauge_pa - mark.target_gauge_pa) < 500;
}

// Between holds a look goes by the shape of the type alone, the evaluation by the ramp: one in fifty
// may come out too near its limit.
TEST(AdviceInTheRecord, WhatALookCalledDecidedIsDecidedInTheEvaluation) {
  int decided = 0, undecided_between = 0;
  for (const TestedUnit& unit : forty_units())
    for (const StepMark& mark : unit.test.trace.steps) {
      if (!ended_as(mark, analysis::AdviceKind::decided)) continue;
      ++decided;
      const std::set<std::string> weighed = weighed_in(mark, unit.test.trace.steps);
      for (const analysis::LimitOutcome& outcome : unit.evaluation.grade.limits) {
        if (!weighed.contains(outcome.metric)) continue;
        const bool undecided = outcome.verdict == analysis::Verdict::undecided;
        if (is_at_its_own_pressure(outcome.metric, mark)) {
          EXPECT_FALSE(undecided) << unit.serial << " " << unit.fault << " " << mark.id << " "
                                  << mark.reason << ": " << outcome.sentence;
        } else if (undecided) {
          ++undecided_between;
        }
      }
    }
  EXPECT_GT(decided, 100);
  EXPECT_LE(50 * undecided_between, decided);
}

// The frames that the kept samples were.
class Kept {
 public:
  Kept(const analysis::RawTrace& trace, const daemon::ChannelTable& table) : table_(table) {
    for (std::size_t c = 0; c < trace.channels.size(); ++c) {
      take({c, trace.channels[c].raw.front(), trace.channels[c].quality.front()});
      for (std::size_t i = 0; i < trace.channels[c].time_us.size(); ++i)
        rounds_[trace.channels[c].time_us[i]].push_back(
            {c, trace.channels[c].raw[i], trace.channels[c].quality[i]});
    }
  }

  template <class Take>
  void for_each(const Take& show) {
    for (const auto& [time_us, readings] : rounds_) {
      daemon::Frame frame;
      frame.bench_time_us = time_us;
      frame.readings = readings;
      for (const daemon::Reading& reading : readings) take(reading);
      frame.value_si = known_;
      show(frame);
    }
  }

 private:
  void take(const daemon::Reading& reading) {
    if (reading.quality == analysis::Quality::good)
      known_[static_cast<std::size_t>(table_.facts(reading.channel).role)] =
          table_.value_si(reading);
  }

  const daemon::ChannelTable& table_;
  // At first what a channel read first: the bench had polled it before the test began.
  std::array<std::optional<double>, analysis::kRoleCount> known_;
  std::map<std::int64_t, std::vector<daemon::Reading>> rounds_;
};

// A step as it stood before the frame.
StepMark as_of(StepMark mark, std::int64_t time_us) {
  if (mark.ready_us && *mark.ready_us >= time_us) mark.ready_us.reset();
  return mark;
}

// step -> what ended it, by looks at the kept samples.
std::map<std::string, std::string> looked_again(const TestedUnit& unit,
                                                const analysis::Context& context) {
  const daemon::ChannelTable table(scenario().benches.at("north"),
                                   scenario().channel_calibrations("north"));
  daemon::StepWatch watch(table, context.model.steady);
  const std::vector<StepMark>& steps = unit.test.trace.steps;
  watch.begin(unit.test.start_command_us);
  std::map<std::string, std::string> reasons;
  Kept(unit.test.trace, table).for_each([&](const daemon::Frame& frame) {
    const std::int64_t now = frame.bench_time_us;
    const auto under_way =
        std::ranges::find_if(steps, [&](const StepMark& mark) { return mark.end_us >= now; });
    if (under_way == steps.end() || now <= unit.test.start_command_us) return;
    const auto beside = std::find_if(under_way + 1, steps.end(), [&](const StepMark& mark) {
      return mark.start_us < now && mark.end_us >= now;
    });
    const StepMark mark = as_of(*under_way, now);
    const StepMark other = beside == steps.end() ? StepMark{} : as_of(*beside, now);
    watch.on_frame(frame, mark, beside == steps.end() ? nullptr : &other);
    const auto sums = watch.look();
    if (!sums) return;
    const analysis::Advice advice = analysis::advise(*sums, context);
    if (advice.ends_step()) reasons.emplace(advice.step_id, daemon::advised(advice));
  });
  return reasons;
}

TEST(AdviceInTheRecord, LooksAtTheKeptSamplesEndTheSameStepsForTheSameReason) {
  int compared = 0;
  for (const TestedUnit& unit : forty_units()) {
    if (unit.test.trace.trip || unit.test.trace.break_off != analysis::BreakOff::none) continue;
    const auto reasons = looked_again(unit, scenario().context("north", unit.model));
    for (const StepMark& mark : unit.test.trace.steps) {
      if (mark.end != analysis::StepEnd::complete) continue;
      const auto found = reasons.find(mark.id);
      EXPECT_EQ(found == reasons.end() ? "" : found->second, mark.reason)
          << unit.serial << " " << mark.id;
      if (!mark.reason.empty()) ++compared;
    }
  }
  EXPECT_GT(compared, 120);
}

}  // namespace
}  // namespace endgate::history

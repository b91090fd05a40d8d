#include "daemon/service/json_population.h"

#include <algorithm>
#include <cmath>

#include "daemon/queries/batch_charts.h"
#include "daemon/queries/bench_offset.h"
#include "daemon/queries/control_words.h"
#include "daemon/queries/population_words.h"
#include "daemon/service/json_share.h"
#include "daemon/service/json_value.h"

namespace endgate::daemon {
namespace {

Json cause_of(const statistics::TrendCause& cause, const TrendTold& told) {
  return {{"factor", cause.factor},
          {"level", text_or_null(cause.level)},
          {"since_batch",
           cause.since_batch ? Json(told.batches[*cause.since_batch].batch) : Json(nullptr)},
          {"ramp", cause.ramp},
          {"shift_si", finite(cause.shift)},
          {"u_si", finite(cause.u)},
          {"p_adjusted", finite(cause.p_adjusted)},
          {"probability", finite(cause.probability)},
          {"not_separable_from", cause.inseparable}};
}

bool signals_at(const ControlTold& control, std::size_t batch, statistics::ControlRule rule) {
  return std::ranges::any_of(control.signals, [&](const ControlSignal& signal) {
    return signal.batch == batch && signal.rule == rule;
  });
}

std::string name_of(statistics::ControlRule rule) {
  return std::string(statistics::kControlRuleNames[static_cast<std::size_t>(rule)]);
}

// Null where too few batches are shown for a figure.
Json batches_or_null(double run_length) {
  return std::isfinite(run_length) ? Json(run_length) : Json(nullptr);
}

Json control_of(const TrendTold& told) {
  const ControlTold& control = told.control;
  Json rules = Json::array(), signals = Json::array();
  for (const statistics::ControlRule rule : control.rules.list()) rules.push_back(name_of(rule));
  for (const ControlSignal& signal : control.signals)
    signals.push_back({{"batch", told.batches[signal.batch].batch},
                       {"rule", name_of(signal.rule)},
                       {"above", signal.above},
                       {"since_batch", told.batches[signal.since].batch},
                       {"sentence", signal_words(told, signal)},
                       {"next", next_step(signal.rule)}});
  return {
      {"frozen_version", control.frozen() ? Json(control.versions.back().version) : Json(nullptr)},
      {"rules", rules},
      {"run_length_batches", batches_or_null(control.run_length.expected)},
      {"run_length_low_batches", batches_or_null(control.run_length.low)},
      {"run_length_high_batches", batches_or_null(control.run_length.high)},
      {"neighbour_correlation", finite(control.likeness)},
      {"signals", signals}};
}

Json batches_of(const TrendTold& told) {
  Json batches = Json::array();
  for (std::size_t i = 0; i < told.batches.size(); ++i) {
    const BatchPoint& point = told.batches[i];
    const JudgedBatch& judged = told.control.batches[i];
    const auto if_judged = [&](double si) {
      return judged.judged ? Json(finite(si)) : Json(nullptr);
    };
    const auto if_limits = [&](double si) {
      return judged.has_limits ? Json(finite(si)) : Json(nullptr);
    };
    batches.push_back(
        {{"batch", point.batch},
         {"n", point.n},
         {"mean_si", finite(point.mean)},
         {"sigma_si", point.n > 1 ? Json(finite(point.sigma)) : Json(nullptr)},
         {"mean_without_bench_si",
          bench_taken_out(told) ? Json(finite(point.mean_without_bench)) : Json(nullptr)},
         {"running_mean_si", if_judged(judged.running)},
         {"running_limit_si", if_judged(judged.running_half_width)},
         {"beyond_limits", told.control.rules.has(statistics::ControlRule::outside)
                               ? Json(told.control.is_outside(i))
                               : Json(nullptr)},
         {"running_mean_signals",
          signals_at(told.control, i, statistics::ControlRule::running_mean)},
         {"first_position", point.first_position},
         {"judged", judged.judged},
         {"limits_version", judged.has_limits && told.control.frozen()
                                ? Json(told.control.versions[judged.version].version)
                                : Json(nullptr)},
         {"centre_si", if_limits(judged.centre)},
         {"limit_low_si", if_limits(judged.centre - statistics::kOutside * judged.sigma)},
         {"limit_high_si", if_limits(judged.centre + statistics::kOutside * judged.sigma)},
         {"running_sum_up", if_judged(judged.up)},
         {"running_sum_down", if_judged(judged.down)}});
  }
  return batches;
}

const char* word_of(statistics::ProductOrBench::Said said) {
  switch (said) {
    case statistics::ProductOrBench::Said::nothing:
      return "nothing";
    case statistics::ProductOrBench::Said::product:
      return "product";
    case statistics::ProductOrBench::Said::bench:
      return "bench";
    case statistics::ProductOrBench::Said::open:
      return "open";
    case statistics::ProductOrBench::Said::too_few:
      break;
  }
  return "too_few";
}

Json side_of(const TrendTold& told) {
  const statistics::ProductOrBench& side = told.side;
  const bool moved = side.u > 0;
  return {{"said", word_of(side.said)},
          {"bench", text_or_null(side.bench)},
          {"since_batch", moved ? Json(told.batches[side.since_batch].batch) : Json(nullptr)},
          {"change_si", moved ? Json(finite(side.change)) : Json(nullptr)},
          {"u_si", moved ? Json(finite(side.u)) : Json(nullptr)},
          {"probability", moved ? Json(finite(side.probability)) : Json(nullptr)},
          {"reference_units_tested", side.checked},
          {"sentence", sentence_of_side(told)}};
}

Json levels_json(const BatchCharts& charts, const TrendTold& told) {
  Json levels = Json::array();
  for (const BatchLevel& level : charts.levels)
    levels.push_back({{"from_batch", told.batches[level.from].batch},
                      {"to_batch", told.batches[level.to - 1].batch},
                      {"mean_si", finite(level.mean)}});
  return levels;
}

Json bench_offsets_of(const TrendTold& told) {
  Json benches = Json::array();
  for (const BenchOffset& offset : bench_offsets(told)) {
    Json batches = Json::array();
    for (std::size_t i = 0; i < offset.batches.size(); ++i)
      batches.push_back({{"batch", told.batches[offset.first_batch + i].batch},
                         {"offset_si", finite(offset.batches[i].drift)},
                         {"u_si", finite(offset.batches[i].u)}});
    benches.push_back(
        {{"bench", offset.bench}, {"sentence", words_of(told, offset)}, {"batches", batches}});
  }
  return benches;
}

Json index_of(const std::optional<statistics::Index>& index) {
  if (!index) return nullptr;
  return {{"value", finite(index->value)},
          {"low", finite(index->interval.low)},
          {"high", finite(index->interval.high)}};
}

}  // namespace

std::string told_json(const TrendTold& told) {
  Json causes = Json::array();
  for (const statistics::TrendCause& cause : told.causes.causes)
    causes.push_back(cause_of(cause, told));
  const std::size_t first = told.causes.first_batch;
  return written(
      {{"model", told.filter.model},
       {"metric", told.metric->id},
       {"si_unit", told.metric->si_unit},
       {"tests", told.tests},
       {"tests_far_from_all_others", told.far},
       {"side", side_of(told)},
       {"first_batch_looked_at",
        first < told.batches.size() ? Json(told.batches[first].batch) : Json(nullptr)},
       {"causes_sentence", sentence_of_causes(told)},
       {"none", told.causes.none},
       {"bench_offsets", bench_offsets_of(told)},
       {"probability_none", finite(told.causes.probability_none)},
       {"causes", causes},
       {"promised_run_length_batches", batches_or_null(told.control.run_length.expected)},
       {"control", control_of(told)},
       {"levels", levels_json(charts_as_measured(told), told)},
       {"levels_without_bench",
        bench_taken_out(told) ? levels_json(charts_without_bench(told), told) : Json(nullptr)},
       {"batches", batches_of(told)}});
}

std::string capability_json(const CapabilityTold& told) {
  return written({{"model", told.model},
                  {"metric", told.metric->id},
                  {"si_unit", told.metric->si_unit},
                  {"units", told.values.size()},
                  {"batches", told.batches},
                  {"effective_n", finite(told.effective_n)},
                  {"lower_si", finite_or_null(told.bounds.lower)},
                  {"upper_si", finite_or_null(told.bounds.upper)},
                  {"mean_si", finite(told.mean)},
                  {"sigma_within_si", finite(told.sigma_within)},
                  {"sigma_overall_si", finite(told.sigma_overall)},
                  {"cp", index_of(told.spread_within)},
                  {"cpk", index_of(told.centred_within)},
                  {"pp", index_of(told.spread_overall)},
                  {"ppk", index_of(told.centred_overall)},
                  {"percentile_index", finite_or_null(told.percentile)},
                  {"proposed_lower_si", finite_or_null(told.proposed_lower)},
                  {"proposed_upper_si", finite_or_null(told.proposed_upper)},
                  {"sentences", words_of(told)}});
}

std::string yield_json(const YieldTold& told, const FailCauses& causes) {
  Json reasons = Json::array(), stops = Json::array(), likely = Json::array();
  for (const FailCauses::Named& named : causes.causes)
    likely.push_back({{"cause", text_or_null(named.cause)}, {"units", share_json(named.units)}});
  for (const YieldTold::Reason& reason : told.reasons)
    reasons.push_back(
        {{"code", reason.code}, {"subject", reason.subject}, {"units", share_json(reason.units)}});
  for (const YieldTold::Stops& each : told.stops)
    stops.push_back({{"bench", each.bench},
                     {"shift", text_or_null(each.shift)},
                     {"operator", text_or_null(each.person)},
                     {"stopped", share_json(each.stopped)},
                     {"would_have_failed", share_json(each.would_have_failed)}});
  return written({{"model", told.model},
                  {"first_pass", share_json(told.first_pass)},
                  {"final_pass", share_json(told.final_pass)},
                  {"undecided", share_json(told.undecided)},
                  {"retested", share_json(told.retested)},
                  {"void_tests", share_json(told.void_tests)},
                  {"passed_after_fail", share_json(told.passed_after_fail)},
                  {"sentences", words_of(told)},
                  {"reasons", reasons},
                  {"likely_causes", likely},
                  {"failed", causes.failed},
                  {"failed_looked_at", causes.looked_at},
                  {"shifts_stated", told.shifts_stated},
                  {"stops", stops}});
}

std::string what_if_json(const WhatIf& answer, const std::string& metric) {
  Json changes = Json::array();
  for (const auto& [change, count] : answer.from_to)
    changes.push_back({{"from", change.first}, {"to", change.second}, {"units", count}});
  return written({{"metric", metric},
                  {"changed", share_json(answer.changed)},
                  {"pass_before", share_json(answer.pass_before)},
                  {"pass_after", share_json(answer.pass_after)},
                  {"changes", changes},
                  {"serials", answer.serials},
                  {"units_without_limit_then", answer.without_limit},
                  {"expected_pass", finite(answer.expected_pass)},
                  {"expected_pass_u", finite(answer.expected_pass_u)},
                  {"sentences", words_of(answer, metric)}});
}

}  // namespace endgate::daemon

// Is the u that is put together knob by knob what a Monte Carlo over all knobs at once gives?
//
// The propagation of analysis/uncertainty_by_cause.h is linear (JCGM 100, 5.1.3 note 2); here every
// input is drawn from its distribution and the whole chain is run again (JCGM 101, clause 7).
// Curve and leaks only: what the motor's metrics rest on is held by tests/history/lockstep_test.cpp.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <random>

#include "analysis/channel_health.h"
#include "analysis/conclusion.h"
#include "analysis/evaluate.h"
#include "analysis/measured.h"
#include "analysis/survey.h"
#include "analysis/uncertainty_by_cause.h"
#include "tests/analysis/measure_trace.h"

namespace endgate::analysis {
namespace {

constexpr int kTrials = 400;

class Draws {
 public:
  explicit Draws(std::uint64_t seed) : random_(seed) {}
  double operator()(double u) { return u * gauss_(random_); }

 private:
  std::mt19937_64 random_;
  std::normal_distribution<double> gauss_;
};

void draw_constants(const BenchFacts& bench, Draws& draw, Knobs& knobs) {
  const Receiver& receiver = bench.receivers[0];
  knobs.volume[0] += draw(receiver.u_volume_rel);
  knobs.conductance[0] += draw(receiver.u_conductance_rel);
  if (receiver.wall_j_k > 0) knobs.wall[0] += draw(receiver.u_wall_rel);
  if (receiver.evaporation_s > 0) knobs.evaporation = std::exp(draw(receiver.u_evaporation_rel));
  knobs.seal_volume += draw(bench.u_seal_volume_rel);
  knobs.fixture_back_leak_m3_s = draw(bench.u_fixture_back_leak_m3_s);
  knobs.fixture_seal_leak_m3_s = draw(bench.u_fixture_seal_leak_m3_s);
}

void draw_corrections(const ThermalCorrection& thermal, Draws& draw, Knobs& knobs) {
  for (double* factor : {&knobs.flow_per_head, &knobs.flow_per_case, &knobs.speed_per_case,
                         &knobs.current_per_case, &knobs.current_per_head})
    *factor += draw(thermal.u_rel_of_correction);
  knobs.current_per_speed = draw(thermal.u_current_per_speed);
  if (thermal.flow_per_speed > 0) knobs.flow_per_speed = draw(thermal.u_flow_per_speed);
  if (thermal.winding_k_w > 0) knobs.winding_lead += draw(thermal.u_winding_rel);
  knobs.case_share = draw(thermal.u_seal_case_share);
  knobs.inlet_head_share = draw(thermal.u_inlet_gas_head_share);
  knobs.inlet_discharge_share = draw(thermal.u_inlet_gas_discharge_share);
  knobs.voltage_step += draw(kStep_u_rel);
  knobs.barometer_step += draw(kStep_u_rel);
  knobs.leak_start_k = draw(thermal.u_leak_start_k);
  knobs.seal_leak_cooling = draw(1);
  knobs.back_leak_law = draw(1);
  knobs.seal_leak_law = draw(1);
}

// Everything that lasts: certificates (a zeroed channel has no offset), constants, corrections.
Knobs drawn_knobs(const Survey& survey, Draws& draw) {
  Knobs knobs(survey.context->bench.receivers.size());
  for (const RoleFacts& role : kRoles) {
    const Samples& samples = survey.samples[index_of(role.role)];
    const ChannelCalibration& known = samples.facts->calibration;
    knobs.gain[index_of(role.role)] += draw(known.u_gain_rel);
    if (!samples.zeroed) knobs.offset_si[index_of(role.role)] += draw(known.u_offset_si);
  }
  draw_constants(survey.context->bench, draw, knobs);
  draw_corrections(survey.context->model.thermal, draw, knobs);
  return knobs;
}

// What the form of the curve cannot follow, hold by hold.
void miss_the_form(const Survey& survey, Draws& draw, Measured& measured) {
  for (std::size_t i = 0; i < survey.holds.size(); ++i) {
    if (!survey.holds[i].window || !survey.holds[i].steady) continue;
    const double miss = draw(kFormRel * measured.holds[i].flow_inlet_m3_s);
    measured.holds[i].flow_inlet_m3_s += miss;
    measured.holds[i].beside_curve_m3_s += miss;
  }
}

double stated_u(const Metric& metric) {
  double squares = 0;
  for (const UncertaintyPart& part : metric.parts)
    if (part.cause != "random") squares += part.u * part.u;
  return std::sqrt(squares);
}

// Scatter of every metric in the Monte Carlo over the u that is stated for the same causes.
std::map<std::string, double> scatter_over_stated(const Context& context) {
  const RawTrace trace = made::trace({}, {}, context);
  const std::vector<ChannelHealth> health = judge_channels(trace, context.bench);
  const Survey survey = survey_of(trace, context, health);
  const Measured at_rest = measure(survey, Knobs(context.bench.receivers.size()), survey.history);
  Plan plan = plan_of(survey, at_rest);
  weigh(survey, at_rest, plan);  // another fit would have another u
  std::map<std::string, std::pair<double, double>> sums;
  Draws draw(20261125);
  GasHistory history;
  for (int i = 0; i < kTrials; ++i) {
    const Knobs knobs = drawn_knobs(survey, draw);
    follow_gas(survey, knobs, history);
    Measured measured = measure(survey, knobs, history);
    miss_the_form(survey, draw, measured);
    const Conclusion conclusion = conclude(survey, plan, measured, knobs);
    for (std::size_t m = 0; m < kMetrics.size(); ++m) {
      const std::string id(kMetrics[m].id);
      if (std::ranges::find(context.model.metrics, id) == context.model.metrics.end()) continue;
      EXPECT_TRUE(conclusion.metrics[m]) << id;
      auto& [sum, squares] = sums[id];
      sum += conclusion.metrics[m]->value;
      squares += conclusion.metrics[m]->value * conclusion.metrics[m]->value;
    }
  }
  std::map<std::string, double> ratios;
  for (const Metric& metric : evaluate(trace, context).metrics) {
    const auto& [sum, squares] = sums.at(metric.id);
    ratios[metric.id] =
        std::sqrt((squares - sum * sum / kTrials) / (kTrials - 1)) / stated_u(metric);
  }
  return ratios;
}

TEST(Propagation, AgreesWithAMonteCarloOverEveryCauseOfCurveAndLeaksButNoise) {
  Context context = made::context();
  context.bench.receivers[0].u_conductance_rel = 0.02;  // as commissioning leaves it
  // 400 trials know a standard deviation within 3.5 %.
  for (const auto& [id, ratio] : scatter_over_stated(context)) EXPECT_NEAR(ratio, 1, 0.12) << id;
}

TEST(Propagation, StatesTooLittleForABackLeakOnAReceiverThatWasNeverCommissioned) {
  // A conductance 15 % lower or higher moves this back leak by +320 or -240 %: it bends, and a
  // linear propagation misses up to a quarter.  The other metrics do not feel it.
  Context context = made::context();
  context.bench.receivers[0].u_conductance_rel = 0.15;
  for (const auto& [id, ratio] : scatter_over_stated(context))
    EXPECT_NEAR(ratio, 1, id == "back_leak" ? 0.3 : 0.12) << id;
}

}  // namespace
}  // namespace endgate::analysis

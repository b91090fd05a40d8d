// How long does the evaluation of a big test take?
//
//   evaluate_benchmark [runs]
//
// A test of about 60 s on the simulated bench with 14 channels read at 100 Hz: the eleven of the
// bench, all at that rate, and three of them once more.  Trajectory, fit and every cause of
// uncertainty included.  Time of the processor, one core.  Goal: 25 ms.

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <numeric>
#include <vector>

#include "analysis/evaluate.h"
#include "fixtures/bench/physics/unit_design.h"
#include "fixtures/history/lockstep_bench.h"
#include "fixtures/history/scenario.h"

namespace {

using namespace endgate;
using namespace endgate::history;

constexpr double kPeriod_s = 0.01;
constexpr double kHold_s = 5;  // of each hold, so that the whole takes 60 s

double processor_s() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

// Eleven channels and three of them again, under other names.
template <class List>
void make_fourteen(List& channels) {
  for (std::size_t i = 0; i < 3; ++i) channels.push_back(channels[i]);
}

struct BigTest {
  analysis::Context context;
  daemon::FinishedTest test;
};

BigTest big_test(const Scenario& scenario, const std::string& model) {
  daemon::BenchDefinition bench = scenario.benches.at("north");
  std::vector<analysis::ChannelCalibration> calibrations = scenario.channel_calibrations("north");
  make_fourteen(bench.channels);
  make_fourteen(calibrations);
  for (std::size_t i = 0; i < bench.channels.size(); ++i) {
    if (i >= 11) bench.channels[i].facts.id += "_again";
    bench.channels[i].facts.period_s = kPeriod_s;
  }
  daemon::ModelDefinition definition = scenario.models.at(model);
  for (daemon::StepDefinition& step : definition.sequence)
    if (step.kind == analysis::StepKind::hold) step.hold_min_s = kHold_s;
  BigTest big{scenario.context("north", model), {}};
  make_fourteen(big.context.bench.channels);
  for (std::size_t i = 0; i < big.context.bench.channels.size(); ++i) {
    big.context.bench.channels[i].id = bench.channels[i].facts.id;
    big.context.bench.channels[i].period_s = kPeriod_s;
  }
  simbench::InstrumentsOptions instruments;
  instruments.seed = 60;
  LockstepBench line(bench, calibrations, instruments);
  big.test = line.test(simbench::nominal_design(*simbench::model_of(model)), definition);
  return big;
}

void time_model(const Scenario& scenario, const std::string& model, int runs) {
  const BigTest big = big_test(scenario, model);
  std::vector<double> took_ms;
  for (int i = 0; i < runs + 1; ++i) {
    const double before_s = processor_s();
    const analysis::Evaluation evaluation = analysis::evaluate(big.test.trace, big.context);
    const double ms = 1e3 * (processor_s() - before_s);
    if (i > 0) took_ms.push_back(ms);
    if (i == 0 && evaluation.grade.verdict != analysis::Verdict::pass)
      std::printf("%s: not a pass, so not the whole work\n", model.c_str());
  }
  std::ranges::sort(took_ms);
  const auto at = [&](double share) {
    return took_ms[static_cast<std::size_t>(share * static_cast<double>(took_ms.size() - 1))];
  };
  std::size_t samples = 0;
  for (const analysis::RawChannel& channel : big.test.trace.channels)
    samples += channel.time_us.size();
  const auto& flow = big.test.trace.channels.front().time_us;
  const double length_s = 1e-6 * static_cast<double>(flow.back() - flow.front());
  std::printf("%-10s %6.1f s %3zu channels %8zu samples  ms: median %6.2f quartiles %6.2f %6.2f\n",
              model.c_str(), length_s, big.test.trace.channels.size(), samples, at(0.5), at(0.25),
              at(0.75));
}

}  // namespace

int main(int argc, char** argv) {
  const int runs = argc > 1 ? std::atoi(argv[1]) : 50;
  const Scenario scenario = load_scenario(std::string(ENDGATE_SOURCE_DIR) + "/fixtures/scenario");
  for (const auto& [model, definition] : scenario.models) time_model(scenario, model, runs);
  return 0;
}

// How long does one look take, of those that a bench takes?
//
//   advise_benchmark [units]
//
// The looks of seeded units in lockstep, with faults too, kept and advised once more: time of the
// processor of each, best of three.  Goal: 1 ms for every one.

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <map>
#include <vector>

#include "analysis/advise_leak.h"
#include "fixtures/bench/physics/population.h"
#include "fixtures/history/lockstep_bench.h"
#include "fixtures/history/scenario.h"

namespace {

using namespace endgate;
using namespace endgate::history;

double processor_us() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return 1e6 * static_cast<double>(now.tv_sec) + 1e-3 * static_cast<double>(now.tv_nsec);
}

double best_of_three_us(const analysis::StepSums& sums, const analysis::Context& context) {
  double best = 1e12;
  for (int i = 0; i < 3; ++i) {
    const double before = processor_us();
    const analysis::Advice advice = analysis::advise(sums, context);
    best = std::min(best, processor_us() - before);
    if (advice.step_id.empty()) std::printf("a look without a step\n");
  }
  return best;
}

using Times = std::map<std::string, std::vector<double>>;  // kind of look -> microseconds

void look_at(const Scenario& scenario, const std::string& model, int number, Times& times) {
  const analysis::Context context = scenario.context("north", model);
  const simbench::Population population(1234, {.fault_rate = 0.3});
  const int first = 1000 * static_cast<int>(*simbench::model_of(model)) + 1;
  const simbench::UnitDesign unit = population.unit(simbench::make_serial("2610", first + number));
  simbench::InstrumentsOptions instruments;
  instruments.seed = 1000 + static_cast<std::uint64_t>(number);
  LockstepBench bench(scenario.benches.at("north"), scenario.channel_calibrations("north"),
                      instruments);
  bench.show_looks_to([&](const analysis::StepSums& sums, const analysis::Advice&) {
    const std::string kind = sums.kind == analysis::StepKind::back_leak   ? "back leak"
                             : sums.kind == analysis::StepKind::seal_leak ? "seal leak"
                                                                          : "hold";
    times[kind].push_back(best_of_three_us(sums, context));
  });
  (void)bench.test(unit, scenario.models.at(model), &context);
}

}  // namespace

int main(int argc, char** argv) {
  const int units = argc > 1 ? std::atoi(argv[1]) : 10;
  const Scenario scenario = load_scenario(std::string(ENDGATE_SOURCE_DIR) + "/fixtures/scenario");
  Times times;
  for (const auto& [model, definition] : scenario.models)
    for (int i = 0; i < units; ++i) look_at(scenario, model, i, times);
  std::printf("%-10s %6s %9s %9s %9s  microseconds\n", "look", "n", "p50", "p99", "max");
  for (auto& [kind, took] : times) {
    std::ranges::sort(took);
    const auto at = [&](double share) {
      return took[static_cast<std::size_t>(share * static_cast<double>(took.size() - 1))];
    };
    std::printf("%-10s %6zu %9.1f %9.1f %9.1f\n", kind.c_str(), took.size(), at(0.5), at(0.99),
                took.back());
  }
  return 0;
}

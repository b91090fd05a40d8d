// One test after the other on one bench, as on the line: a unit that is still warm from its test,
// and a cold one after a warm one, have sound sensors.

#include <gtest/gtest.h>

#include "analysis/evaluate.h"
#include "fixtures/bench/physics/unit_design.h"
#include "fixtures/history/lockstep_bench.h"
#include "tests/history/loaded_scenario.h"

namespace endgate::history {
namespace {

void expect_sound(const daemon::FinishedTest& test, const analysis::Context& context,
                  const std::string& which) {
  const analysis::Evaluation evaluation = analysis::evaluate(test.trace, context);
  EXPECT_EQ(analysis::word_of(evaluation.grade.verdict), std::string("pass")) << which;
  for (const analysis::ChannelHealth& health : evaluation.health)
    EXPECT_EQ(health.state, analysis::HealthState::good)
        << which << ": " << health.channel_id << " " << health.detail;
}

class WarmUnit : public testing::TestWithParam<const char*> {};

TEST_P(WarmUnit, TestedAgainAtOnceAccusesNoSensor) {
  const std::string model = GetParam();
  const analysis::Context context = scenario().context("north", model);
  simbench::InstrumentsOptions options;
  options.room.relative_humidity = 0.4;
  LockstepBench bench(scenario().benches.at("north"), scenario().channel_calibrations("north"),
                      options);
  const simbench::UnitDesign unit = simbench::nominal_design(*simbench::model_of(model));
  expect_sound(bench.test(unit, scenario().models.at(model), &context), context, "cold");
  for (const char* which : {"second", "third", "fourth"})
    expect_sound(bench.test_again(scenario().models.at(model), &context), context, which);
  expect_sound(bench.test(unit, scenario().models.at(model), &context), context,
               "a cold one after it");
}

INSTANTIATE_TEST_SUITE_P(Models, WarmUnit,
                         testing::Values("P1-20-12", "P1-60-12", "P1-60-24", "P2-120-24"),
                         [](const auto& info) {
                           std::string name = info.param;
                           std::erase(name, '-');
                           return name;
                         });

}  // namespace
}  // namespace endgate::history

// The ramp: how its set point climbs, when it ends, and what becomes of a unit too weak for it.

#include <gtest/gtest.h>

#include "analysis/ramp_windows.h"
#include "daemon/bench/sequence.h"
#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using analysis::StepEnd;
using analysis::StepKind;

constexpr std::size_t kRamp = 4;  // its place in the sequence

ModelDefinition model_with_ramp() {
  ModelDefinition model = made_model();
  StepDefinition ramp = made_step("ramp", StepKind::ramp, 5, 400e3);
  ramp.rise_pa_s = 100e3;
  model.sequence.insert(model.sequence.begin() + kRamp, ramp);
  return model;
}

class Ramp : public ::testing::Test {
 protected:
  // Frames until the step with this index has ended, or 10 s of them.
  void run_past(std::size_t index) {
    take(sequence.begin(source.next()));
    for (int i = 0; i < 1500 && sequence.steps().size() <= index; ++i)
      take(sequence.on_frame(source.next()));
  }
  void take(const SequenceOutput& out) {
    source.obey(out.commands);
    for (const ActuatorCommand& command : out.commands)
      if (command.actuator == "back_pressure" && sequence.under_way() != nullptr &&
          sequence.under_way()->id == "ramp")
        set_pa.push_back(command.value_si);
  }

  BenchDefinition bench = made_bench();
  ModelDefinition model = model_with_ramp();
  FrameSource source{bench};
  Sequence sequence{bench, model};
  std::vector<double> set_pa;
};

TEST_F(Ramp, ClimbsAtItsRateAndEndsAtItsTarget) {
  run_past(kRamp);
  const analysis::StepMark& mark = sequence.steps().at(kRamp);
  EXPECT_EQ(mark.end, StepEnd::complete);
  EXPECT_EQ(mark.ready_us, mark.start_us + 20'000) << "measured from its first frame on";
  EXPECT_NEAR(static_cast<double>(mark.end_us - mark.start_us) * 1e-6, 4, 0.2);
  ASSERT_GT(set_pa.size(), 40u);
  EXPECT_EQ(set_pa.front(), analysis::kRampBegins_pa);
  for (std::size_t i = 3; i < set_pa.size(); ++i)
    EXPECT_NEAR(set_pa[i] - set_pa[i - 1], 6e3, 2.1e3) << "every 0.06 s, the last one cut";
  EXPECT_LE(set_pa.back(), 400e3);
}

TEST_F(Ramp, AWeakUnitEndsItByItsLimitAndTheTestGoesOn) {
  source.reachable_gauge_pa = 200e3;
  run_past(kRamp);
  EXPECT_EQ(sequence.steps().at(kRamp).end, StepEnd::bench_time_limit);
  EXPECT_EQ(sequence.under_way()->id, "hold_400");
  EXPECT_LE(*std::max_element(set_pa.begin(), set_pa.end()), 400e3);
}

}  // namespace
}  // namespace endgate::tests

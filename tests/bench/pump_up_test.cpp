// The pump-up: what is commanded, when it ends, and what becomes of a unit too weak for it.

#include <gtest/gtest.h>

#include "daemon/bench/sequence.h"
#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using analysis::StepEnd;
using analysis::StepKind;

ModelDefinition model_with_pump_up() {
  ModelDefinition model = made_model();
  model.sequence.insert(model.sequence.begin() + 4,
                        made_step("pump_up", StepKind::pump_up, 5, 400e3));
  return model;
}

class PumpUp : public ::testing::Test {
 protected:
  // Frames until the step with this index has ended; a shut receiver fills by `rise_pa` a frame.
  void run_past(std::size_t index, double rise_pa) {
    take(sequence.begin(source.next()));
    for (int i = 0; i < 3000 && sequence.steps().size() <= index; ++i) {
      if (told["shut_off"] > 0.5 && told["motor_relay"] > 0.5) {
        gauge_pa += rise_pa;
        source.set(Role::discharge_pressure, gauge_pa);
      }
      take(sequence.on_frame(source.next()));
    }
  }
  void take(const SequenceOutput& out) {
    source.obey(out.commands);
    for (const ActuatorCommand& command : out.commands) told[command.actuator] = command.value_si;
  }

  BenchDefinition bench = made_bench();
  ModelDefinition model = model_with_pump_up();
  FrameSource source{bench};
  Sequence sequence{bench, model};
  std::map<std::string, double> told;
  double gauge_pa = 0;
};

TEST_F(PumpUp, ShutsTheOutletAndPutsTheValveInPlaceBeforeItIsNeeded) {
  run_past(3, 0);
  EXPECT_EQ(told["shut_off"], 1);
  EXPECT_EQ(told["back_pressure"], 400e3);
  EXPECT_TRUE(sequence.motor_should_run());
}

TEST_F(PumpUp, EndsAtItsTargetAndOpensTheOutlet) {
  run_past(4, 5000);
  const analysis::StepMark& mark = sequence.steps().at(4);
  EXPECT_EQ(mark.end, StepEnd::complete);
  EXPECT_NEAR(static_cast<double>(mark.end_us - mark.start_us) * 1e-6, 400e3 / 5000 * 0.02, 0.1);
  EXPECT_EQ(told["shut_off"], 0);
  EXPECT_EQ(sequence.under_way()->id, "hold_400");
}

TEST_F(PumpUp, AWeakUnitEndsItByItsLimitAndTheTestGoesOn) {
  run_past(4, 100);
  EXPECT_EQ(sequence.steps().at(4).end, StepEnd::bench_time_limit);
  EXPECT_EQ(told["shut_off"], 0);
  EXPECT_EQ(sequence.under_way()->id, "hold_400");
}

TEST_F(PumpUp, AStopOpensTheOutletAndVents) {
  run_past(3, 0);
  take(sequence.break_off(analysis::BreakOff::stopped_by_person, "stopped",
                          source.now.bench_time_us));
  EXPECT_EQ(told["motor_relay"], 0);
  EXPECT_EQ(told["shut_off"], 0);
  EXPECT_EQ(told["vent"], 1);
}

}  // namespace
}  // namespace endgate::tests
